"""The Nu Html Checker (vnu, a program of its own): what it finds in a folder of pages."""

from __future__ import annotations

import json
import shutil
import subprocess
from collections.abc import Iterable, Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
JAR = ROOT / "tests" / "node_modules" / "vnu-jar" / "build" / "dist" / "vnu.jar"
_MISSING = "{} is missing: run `python tests/run.py`, which installs it"
_LONGEST = 900  # seconds: a thousand pages on a busy machine
# Seen from a disk, a page's own style sheet and scripts do not count as 'self'.
_OF_DISKS = "Resource violates Content Security Policy"


def complaints(folder: Path) -> list[str]:
    """Return what the checker says of every page, style sheet and drawing below *folder*."""
    java = shutil.which("java")
    if java is None:
        raise FileNotFoundError(_MISSING.format("Java"))
    if not JAR.is_file():
        raise FileNotFoundError(_MISSING.format("the HTML checker"))
    options = ["--format", "json", "--stdout", "--also-check-css", "--also-check-svg"]
    done = subprocess.run(
        [java, "-Xmx700m", "-jar", str(JAR), *options, "--skip-non-html", str(folder)],
        capture_output=True,
        encoding="utf-8",
        timeout=_LONGEST,
    )
    return list(_told(json.loads(done.stdout)["messages"], folder))


def _told(messages: Iterable[dict[str, str]], folder: Path) -> Iterator[str]:
    for message in messages:
        if not message["message"].startswith(_OF_DISKS):
            place = message["url"].rpartition(f"{folder.name}/")[2]
            line, extract = message.get("lastLine", ""), message.get("extract", "")
            yield f"{place}:{line}: {message['message']} | {extract}"
