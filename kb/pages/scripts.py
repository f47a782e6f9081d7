"""The browser's half as it is published: each entry file bundled with what it imports.

One classic script a page costs one round trip where modules that import one another cost one for
each step, and it also runs on pages opened from a disk. Blanks and comments are left out (rjsmin);
names stay, so that what a browser reports can be found in the source.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from functools import cache
from pathlib import Path

from rjsmin import jsmin

from kb.pages.assets import hashed
from kb.pages.page import Asset
from kb.resources import folder

ENTRIES = ("find", "job", "page", "worker")
SERVICE_WORKER = "sw.js"
_IMPORT = re.compile(r'^import \{([^}]*)\} from "([^"]+)";\n?', re.M)
_EXPORT = re.compile(r"^export (?=(?:async )?function|class|const)", re.M)
_EXPORTED = re.compile(r"^export (?:async )?(?:function\*?|class|const) (\w+)", re.M)


def bundle(entry: Path) -> bytes:
    """Return *entry* and every module that it imports as one classic script."""
    order = list(_in_order(entry, ()))
    names = {path: f"m{at}" for at, path in enumerate(dict.fromkeys(order))}
    modules = "".join(_module(path, names, path == entry) for path in names)
    return str(jsmin(f'(()=>{{"use strict";\n{modules}}})();\n')).encode()


def _in_order(path: Path, above: tuple[Path, ...]) -> Iterator[Path]:
    """Yield the modules that *path* imports, each behind those that it needs, then itself."""
    if path in above:
        circle = " → ".join(step.name for step in (*above, path))
        raise ValueError(f"modules import one another in a circle: {circle}")
    for _, address in _IMPORT.findall(path.read_text(encoding="utf-8")):
        yield from _in_order((path.parent / address).resolve(), (*above, path))
    yield path.resolve()


def _module(path: Path, names: Mapping[Path, str], is_entry: bool) -> str:
    """Return one module in a scope of its own, which hands out what the module exports."""
    text = path.read_text(encoding="utf-8")
    brought = "".join(
        f"const{{{_renamed(wanted)}}}={names[(path.parent / address).resolve()]};\n"
        for wanted, address in _IMPORT.findall(text)
    )
    code = _EXPORT.sub("", _IMPORT.sub("", text))
    if is_entry:
        return f"{brought}{code}\n"
    given = ",".join(_EXPORTED.findall(text))
    return f"const {names[path]}=(()=>{{{brought}{code}\nreturn{{{given}}}}})();\n"


def _renamed(wanted: str) -> str:
    return re.sub(r"\s+as\s+", ":", " ".join(wanted.split()))


@cache
def scripts() -> Mapping[str, Asset]:
    """Return the script of each entry, under a name that changes with its content."""
    made = {}
    for name in ENTRIES:
        content = bundle(folder("site") / "app" / f"{name}.js")
        made[name] = Asset(hashed(f"{name}.js", content), content)
    return made


def script_assets() -> Iterator[Asset]:
    """Yield every script of the site, the service worker at its top."""
    yield from scripts().values()
    yield Asset(SERVICE_WORKER, bundle(folder("site") / SERVICE_WORKER))
