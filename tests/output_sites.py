"""Two editions of a small site, files of others among them, and publishing with `kb.output` alone.

Started as a program it publishes or goes back once, for tests that stop it on its way:
``python -I -S tests/output_sites.py OUT EDITION KEEP WAY``.
"""

from __future__ import annotations

import os
import stat
import sys
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
TOLD = {"there is no room left": 40, "cannot be written to": 41, "was left half changed": 42}
Site = dict[str, bytes]
Tree = dict[str, tuple[int, bytes]]  # the mode and the content of whatever is there, by path


def _page(path: str, edition: str) -> bytes:
    return f"<title>{path}</title> edition {edition}\n".encode() * 40


_SAME = ["style.css", "app/main.js", "bulletins/2024-001/index.html", "data/0/words.json"]
_SAME += [f"models/T{number}/index.html" for number in range(5)]
_CHANGED = ["index.html", "feed.xml", "models/index.html", "bulletins/2024-002/index.html"]
_CHANGED += ["data/0/a/b/c.json", "parts/1/index.html"]
_IN_A_ALONE = ["parts/2/index.html", "gone/deep/er/page.html", "turns", "folds/x/y.html"]
_IN_B_ALONE = ["bulletins/2025-009/index.html", "new/page.html", "turns/into.html", "folds/x"]

EDITIONS: dict[str, Site] = {
    "A": {path: _page(path, "A") for path in _CHANGED + _IN_A_ALONE},
    "B": {path: _page(path, "B") for path in _CHANGED + _IN_B_ALONE},
    "C": {path: _page(path, "C") for path in ["index.html", "c/only.html"]},
}
for _site in EDITIONS.values():
    _site.update({path: _page(path, "every") for path in _SAME})

THEIRS: dict[str, bytes] = {
    "robots.txt": b"theirs",
    "models/T1/own.pdf": b"their sheet",
    ".well-known/security/contact.txt": b"theirs, deep",
    ".git/HEAD": b"ref: refs/heads/pages\n",
}


def put_theirs(out: Path) -> None:
    """Put files, a link and an empty folder of others into an output folder."""
    for path, content in THEIRS.items():
        (out / path).parent.mkdir(parents=True, exist_ok=True)
        (out / path).write_bytes(content)
    (out / "latest").symlink_to("bulletins/2024-001")
    (out / "uploads").mkdir()


def publish(out: Path, site: Mapping[str, bytes], keep: int = 1) -> int:
    """Publish all files of a site; return how many were new."""
    from kb.output import opened

    with opened(out, keep) as output:
        new = sum([output.put(path, content) for path, content in site.items()])
        output.finish(site)
    return new


def publish_changes(out: Path, site: Mapping[str, bytes], keep: int = 1) -> int:
    """Publish a site by what it has more, and less, than the one before; return how many went."""
    from kb.output import opened
    from kb.output.listing import is_page

    with opened(out, keep) as output:
        before = set(filter(is_page, output.ours))
        for path, content in site.items():
            output.put(path, content)
        return output.finish_changed(site.keys() - before, before - site.keys())


def go_back(out: Path) -> None:
    """Go back to the edition before."""
    from kb.output import opened

    with opened(out) as output:
        output.back()


def tree(folder: Path) -> Tree:
    """Return all that is below a folder, folders included; nothing where there is no folder."""
    found = {}
    for path in folder.rglob("*"):
        look = path.lstat()
        content = b""
        if path.is_symlink():
            content = os.fsencode(path.readlink())
        elif path.is_file():
            content = path.read_bytes()
        mode = 0 if path.is_symlink() else stat.S_IMODE(look.st_mode)
        found[str(path.relative_to(folder))] = (stat.S_IFMT(look.st_mode) | mode, content)
    return found


def fresh(tmp_path: Path, edition: str, theirs: bool = False) -> Tree:
    """Return what a first publish of an edition gives, beside files of others if asked for."""
    out = tmp_path / f"fresh-{edition}-{theirs}"
    out.mkdir(parents=True)
    if theirs:
        put_theirs(out)
    publish(out, EDITIONS[edition])
    return tree(out)


@contextmanager
def way(name: str) -> Iterator[None]:
    """Let publishing go a way that it seldom goes: stepwise, in place, catching up at once."""
    from unittest.mock import patch

    changes: dict[str, tuple[str, object]] = {
        "stepwise": ("kb.output.swap._system_call", lambda: None),
        "in place": ("kb.output.is_mounted", lambda out: True),
        "catching up": ("kb.output.whole.Whole._MANY", 5),
    }
    if name in changes:
        with patch(*changes[name]):
            yield
    else:
        yield


def act(out: Path, edition: str, keep: int, name: str) -> None:
    """Publish an edition, or go back with "back", the way that is asked for."""
    with way(name):
        if edition == "back":
            go_back(out)
        else:
            publish(out, EDITIONS[edition], keep)


def main(out: str, edition: str, keep: str, name: str) -> None:
    """Publish, and end with the status that `TOLD` has for what is told: words may not come out."""
    from kb.errors import KbError
    from kb.output import settling

    settling._AT_ONCE = 1  # each run then makes the same calls in the same threads
    try:
        act(Path(out), edition, int(keep), name)
    except KbError as error:
        os._exit(next((status for words, status in TOLD.items() if words in error.message), 1))


if __name__ == "__main__":
    sys.path.insert(0, str(ROOT))
    main(*sys.argv[1:])
