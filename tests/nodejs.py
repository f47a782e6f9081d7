"""The pure JavaScript modules asked from Python, in Node: one process answers a whole batch."""

from __future__ import annotations

import json
import shutil
import subprocess
from functools import cache
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parent.parent
_MOST_SECONDS = 120


@cache
def node() -> str:
    """Return the path of Node; without it the tests of the browser's half cannot run."""
    found = shutil.which("node") or shutil.which("nodejs")
    if found is None:
        raise FileNotFoundError("Node is missing: run `python tests/run.py`, which installs it")
    return found


def ask_node(script: str, payload: object = None) -> Any:
    """Return what *script*, a module, hands to ``answer(value)``; it finds *payload* in ``asked``.

    ``SITE`` in the script is replaced by the address of the folder with the browser's half, so that
    it can begin with ``import { fold } from "SITE/core/folding.js";``.
    """
    imports, rest = _parted(script.replace("SITE/", (ROOT / "site").as_uri() + "/"))
    whole = f'{imports}\nimport {{ readFileSync }} from "node:fs";\n{_FRAME}\n{rest}'
    done = subprocess.run(
        [node(), "--input-type=module", "--eval", whole],
        input=json.dumps(payload),
        capture_output=True,
        encoding="utf-8",
        timeout=_MOST_SECONDS,
        cwd=ROOT,
    )
    if done.returncode:
        raise AssertionError(f"the script failed:\n{done.stderr[-4000:]}")
    return json.loads(done.stdout)


_FRAME = """
const asked = JSON.parse(readFileSync(0, "utf8"));
const answer = (value) => process.stdout.write(JSON.stringify(value ?? null));
"""


def _parted(script: str) -> tuple[str, str]:
    """Return the import lines at the head of a script and what is behind them."""
    lines = script.strip().splitlines()
    last = max(
        (at for at, line in enumerate(lines) if " from " in line and '"' in line), default=-1
    )
    return "\n".join(lines[: last + 1]), "\n".join(lines[last + 1 :])
