"""Install what the tests need, Chromium included, and run everything: python tests/run.py

Works on a fresh machine with nothing but Python and pip, in whatever environment is active: on
Debian and its kin what is missing comes from apt; elsewhere Node and Java have to be there. Words
behind it go to pytest: python tests/run.py tests/test_serials.py -x
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
BROWSERS = ("chromium", "chromium-browser", "google-chrome")
_NPM = "npm install --prefix tests --ignore-scripts --no-audit --no-fund --no-package-lock"


def run(*command: str) -> None:
    """Run one command and end with its status where it fails."""
    print("+", *command, flush=True)
    status = subprocess.call(command, cwd=ROOT)
    if status:
        sys.exit(status)


def install_tools() -> None:
    """Install what pip does not: Chromium, Node with npm, Java, nginx, strace.

    Without nginx or strace their tests alone are skipped.
    """
    missing = []
    if not any(map(shutil.which, BROWSERS)):
        missing.append("chromium")
    missing += [name for name, tool in (("nodejs", "node"), ("npm", "npm")) if not _has(tool)]
    if not _has("java"):
        missing.append("default-jre-headless")
    if not _has("strace") and _has("apt-get"):
        missing.append("strace")
    if not shutil.which("nginx", path=f"{os.environ['PATH']}:/usr/sbin") and _has("apt-get"):
        missing.append("nginx-light")
    if missing and _has("apt-get"):
        sudo = [] if os.geteuid() == 0 else ["sudo"]
        run(*sudo, "apt-get", "update", "-qq")
        run(*sudo, "apt-get", "install", "-y", "-qq", "--no-install-recommends", *missing)
    elif "chromium" in missing:
        run(sys.executable, "-m", "playwright", "install", "chromium")
        missing.remove("chromium")
    if missing and not _has("apt-get"):
        sys.exit(f"please install {', '.join(missing)} with this system's own means, and run again")
    run(*_NPM.split())


def _has(tool: str) -> bool:
    return shutil.which(tool) is not None


def main() -> None:
    """Install, then check layout, types and behaviour."""
    run(sys.executable, "-m", "pip", "install", "--quiet", "--editable", ".[test]")
    install_tools()
    asked = sys.argv[1:]
    if not asked:
        run(sys.executable, "-m", "ruff", "check", "kb", "tests")
        run(sys.executable, "-m", "ruff", "format", "--check", "kb", "tests")
        run(sys.executable, "-m", "mypy")
    run(sys.executable, "-m", "pytest", *(asked or ["-n", "auto", "--dist", "loadfile"]))


if __name__ == "__main__":
    main()
