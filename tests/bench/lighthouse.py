"""Lighthouse (12.2.3, as a phone) on the published demo: python tests/bench/lighthouse.py

Prints performance, accessibility and best practices of the start page, a bulletin and a model,
each the median of three runs. npm and Node have to be there; Lighthouse is fetched into the
git-ignored folder tests/node_modules when it is missing.
"""

from __future__ import annotations

import json
import os
import shutil
import statistics
import subprocess
import sys
import tempfile
from datetime import date
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent.parent
sys.path.insert(0, str(ROOT))

from kb.house import read_house  # noqa: E402  # only after the path knows the checkout
from kb.publish import publish  # noqa: E402
from tests.browser import NAMES, served  # noqa: E402

PROGRAM = ROOT / "tests" / "node_modules" / ".bin" / "lighthouse"
PAGES = ("", "bulletins/2026-014/", "models/TD45A/")
SORTS = ("performance", "accessibility", "best-practices")
RUNS = 3


def install() -> None:
    """Fetch Lighthouse where it is missing."""
    if not PROGRAM.exists():
        npm = "npm install --prefix tests --no-save --no-audit --no-fund --no-package-lock"
        subprocess.run([*npm.split(), "lighthouse@12.2.3"], cwd=ROOT, check=True)


def scores(address: str, folder: Path) -> dict[str, float]:
    """Return the scores (0 to 100) of one run on one page."""
    report = folder / "report.json"
    chromium = next(filter(None, map(shutil.which, NAMES)))
    subprocess.run(
        [str(PROGRAM), address, "--output=json", f"--output-path={report}", "--quiet",
         f"--only-categories={','.join(SORTS)}",
         "--chrome-flags=--headless=new --no-sandbox --disable-gpu"],
        check=True, env={**os.environ, "CHROME_PATH": chromium}, stdout=subprocess.DEVNULL,
    )  # fmt: skip
    told = json.loads(report.read_text("utf-8"))
    for name in SORTS:
        for audit in told["categories"][name]["auditRefs"]:
            result = told["audits"][audit["id"]]
            if audit["weight"] and result["score"] is not None and result["score"] < 0.9:
                print(f"    {name}: {audit['id']} {result.get('displayValue', '')}")
    return {name: 100 * told["categories"][name]["score"] for name in SORTS}


def main() -> None:
    """Publish the demo house, serve it and print the scores."""
    install()
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        publish(read_house(ROOT / "bulletins"), date.today(), folder / "site")
        with served(folder / "site") as root:
            for page in PAGES:
                runs = [scores(root + page, folder) for _ in range(RUNS)]
                told = (f"{name} {statistics.median(r[name] for r in runs):.0f}" for name in SORTS)
                print(f"/{page:24} {', '.join(told)}", flush=True)


if __name__ == "__main__":
    main()
