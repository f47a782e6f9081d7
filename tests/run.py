"""Install what the tests need, Chromium included, and run everything: python tests/run.py

Works on a fresh machine with nothing but Python and pip, in whatever environment is active. Words
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


def run(*command: str) -> None:
    """Run one command and end with its status where it fails."""
    print("+", *command, flush=True)
    status = subprocess.call(command, cwd=ROOT)
    if status:
        sys.exit(status)


def install_browser() -> None:
    """Install Chromium where none is found: Debian's package, else Playwright's own build."""
    if any(shutil.which(name) for name in BROWSERS):
        return
    if shutil.which("apt-get"):
        sudo = [] if os.geteuid() == 0 else ["sudo"]
        run(*sudo, "apt-get", "update", "-qq")
        run(*sudo, "apt-get", "install", "-y", "-qq", "chromium")
    else:
        run(sys.executable, "-m", "playwright", "install", "chromium")


def main() -> None:
    """Install, then check layout, types and behaviour."""
    run(sys.executable, "-m", "pip", "install", "--quiet", "--editable", ".[test]")
    install_browser()
    asked = sys.argv[1:]
    if not asked:
        run(sys.executable, "-m", "ruff", "check", "kb", "tests")
        run(sys.executable, "-m", "ruff", "format", "--check", "kb", "tests")
        run(sys.executable, "-m", "mypy")
    run(sys.executable, "-m", "pytest", *asked)


if __name__ == "__main__":
    main()
