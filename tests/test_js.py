"""The browser's half: its own tests run in Node, its types hold, and its modules keep in order."""

from __future__ import annotations

import re
import subprocess
from pathlib import Path

import pytest

from tests.nodejs import node

ROOT = Path(__file__).resolve().parent.parent
TSC = ROOT / "tests" / "node_modules" / ".bin" / "tsc"
SOURCES = sorted((ROOT / "site").glob("*/*.js")) + sorted((ROOT / "site").glob("*.js"))
IMPORT = re.compile(r'^import \{[^}]*\} from "(\./|\.\./)[a-z0-9/]+\.js";', re.M)


def said(*command: str) -> tuple[int, str]:
    """Return the status of a command and all that it said."""
    done = subprocess.run(command, capture_output=True, encoding="utf-8", cwd=ROOT, timeout=300)
    return done.returncode, done.stdout + done.stderr


def test_the_pure_modules_pass_their_own_tests_in_node() -> None:
    files = sorted(map(str, (ROOT / "tests" / "js").glob("*.test.js")))
    status, words = said(node(), "--test", *files)
    assert files
    assert status == 0, words[-6000:]


def without_comments(path: Path) -> str:
    """Return the code of a module; a comment stands on lines of its own or behind code."""
    return re.sub(r"/\*\*?\s.*?\*/|(?<=\s)//[^\n]*", "", path.read_text("utf-8"), flags=re.S)


@pytest.mark.parametrize("project", ["tsconfig.json", "tsconfig.worker.json"])
def test_the_types_written_beside_the_code_hold(project: str) -> None:
    status, words = said(str(TSC), "--project", f"tests/{project}")
    assert status == 0, words[-6000:]


@pytest.mark.parametrize("path", SOURCES, ids=lambda path: path.name)
def test_every_import_is_of_the_plain_form_that_publishing_bundles(path: Path) -> None:
    text = without_comments(path)
    assert len(re.findall(r"^import\b", text, re.M)) == len(IMPORT.findall(text))
    assert not re.search(r"^export (?:default|let|\{|\*)", text, re.M)
    assert "import(" not in text and "import.meta" not in text


@pytest.mark.parametrize("folder", ["core"])
def test_the_core_touches_neither_page_nor_network_nor_clock(folder: str) -> None:
    for path in sorted((ROOT / "site" / folder).glob("*.js")):
        code = without_comments(path)
        outside = r"\bdocument\.|\bfetch\(|\blocalStorage\b|\bDate\.now\b"
        assert not re.search(outside, code), path


def test_no_line_is_longer_than_a_hundred_columns() -> None:
    for path in SOURCES:
        long = [line for line in path.read_text("utf-8").splitlines() if len(line) > 100]
        assert not long, (path.name, long[:3])
