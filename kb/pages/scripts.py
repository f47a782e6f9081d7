"""The browser's half as it is published: each entry file bundled with what it imports.

One classic script a page costs one round trip where modules that import one another cost one for
each step, and it also runs on pages opened from a disk. Blanks and comments are left out (rjsmin);
names stay, so that what a browser reports can be found in the source.

The search worker comes in two parts: what every question needs, and what only a rating plate or a
part number needs. The second is brought in, at once and for good, when one of its functions is
first called.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from rjsmin import jsmin

from kb.pages.assets import hashed
from kb.pages.page import Asset
from kb.resources import folder

ENTRIES = ("carrying", "find", "job", "page", "scanning", "worker")
SERVICE_WORKER = "sw.js"
LATE = {
    "worker": (
        "partorder.js", "suggest.js", "plate.js", "units.js", "applies.js", "serials.js",
        "places.js", "dates.js",
    )
}  # fmt: skip
_IMPORT = re.compile(r'^import \{([^}]*)\} from "([^"]+)";\n?', re.M)
_EXPORT = re.compile(r"^export (?=(?:async )?function|class|const)", re.M)
_EXPORTED = re.compile(r"^export (?:async )?(function\*?|class|const) (\w+)", re.M)


@dataclass(frozen=True, slots=True)
class _Module:
    """One module: its text, what it imports (the names wanted, from where), what it exports."""

    text: str
    imports: tuple[tuple[str, Path], ...]
    exports: Mapping[str, str]


@cache
def _read(path: Path, changed: int) -> _Module:
    text = path.read_text(encoding="utf-8")
    return _Module(
        text=_EXPORT.sub("", _IMPORT.sub("", text)),
        imports=tuple(
            (" ".join(wanted.split()), (path.parent / address).resolve())
            for wanted, address in _IMPORT.findall(text)
        ),
        exports={name: sort for sort, name in _EXPORTED.findall(text)},
    )


def _module(path: Path) -> _Module:
    return _read(path, path.stat().st_mtime_ns)


def bundle(entry: Path, late: Collection[str] = ()) -> tuple[bytes, bytes]:
    """Return *entry* and every module that it imports as one classic script.

    Modules named in *late*, and what only they need, are the second script; empty where there is
    none. A late module may hand functions alone to what is not late: ValueError.
    """
    entry = entry.resolve()
    names = {path: f"m{at}" for at, path in enumerate(dict.fromkeys(_in_order(entry, ())))}
    first = set(_in_order(entry, (), late))
    rest = [path for path in names if path not in first]
    second = _late_script(rest, first, names) if rest else b""
    opening = _OPENING % hashed("late.js", second).rpartition("/")[2] if rest else ""
    modules = "".join(
        _wrapped(path, names, rest) if path != entry else "" for path in names if path in first
    )
    shown = _SHOWN % ",".join(names[p] for p in names if p in first and p != entry) if rest else ""
    body = _brought(entry, names, rest) + _module(entry).text
    return _small(f"{opening}{modules}{shown}{body}"), second


_OPENING = 'let rest;const late=()=>rest??=(importScripts("%s"),self.late);\n'
_SHOWN = "self.early={%s};\n"


def _late_script(rest: list[Path], first: Collection[Path], names: Mapping[Path, str]) -> bytes:
    needed = {names[path] for each in rest for _, path in _module(each).imports if path in first}
    modules = "".join(_wrapped(path, names, ()) for path in rest)
    given = ",".join(names[path] for path in rest)
    return _small(
        f"const{{{','.join(sorted(needed))}}}=self.early;\n{modules}self.late={{{given}}};\n"
    )


def _small(code: str) -> bytes:
    return str(jsmin(f'(()=>{{"use strict";\n{code}}})();\n')).encode()


def _in_order(path: Path, above: tuple[Path, ...], but: Collection[str] = ()) -> Iterator[Path]:
    """Yield the modules that *path* imports, each behind those that it needs, then itself."""
    if path in above:
        circle = " → ".join(step.name for step in (*above, path))
        raise ValueError(f"modules import one another in a circle: {circle}")
    for _, needed in _module(path).imports:
        if needed.name not in but:
            yield from _in_order(needed, (*above, path), but)
    yield path


def _wrapped(path: Path, names: Mapping[Path, str], late: Collection[Path]) -> str:
    """Return one module in a scope of its own, which hands out what the module exports."""
    module = _module(path)
    code = f"{_brought(path, names, late)}{module.text}\nreturn{{{','.join(module.exports)}}}"
    return f"const {names[path]}=(()=>{{{code}}})();\n"


def _brought(path: Path, names: Mapping[Path, str], late: Collection[Path]) -> str:
    """Return the code that stands in place of a module's import lines."""
    lines = []
    for wanted, needed in _module(path).imports:
        if needed in late:
            lines += [_called_late(each, needed, names) for each in wanted.split(",") if each]
        else:
            lines.append(f"const{{{re.sub(r' as ', ':', wanted)}}}={names[needed]};\n")
    return "".join(lines)


def _called_late(wanted: str, path: Path, names: Mapping[Path, str]) -> str:
    name, _, said = wanted.strip().partition(" as ")
    if not name:
        return ""
    if not _module(path).exports.get(name, "").startswith("function"):
        raise ValueError(f"{path.name} comes late, so {name} would have to be a function")
    return f"const {said or name}=(...given)=>late().{names[path]}.{name}(...given);\n"


@cache
def scripts() -> Mapping[str, Asset]:
    """Return the script of each entry, under a name that changes with its content."""
    made = {}
    for name in ENTRIES:
        content, rest = bundle(folder("site") / "app" / f"{name}.js", LATE.get(name, ()))
        made[name] = Asset(hashed(f"{name}.js", content), content)
        if rest:
            made["late"] = Asset(hashed("late.js", rest), rest)
    return made


def script_assets() -> Iterator[Asset]:
    """Yield every script of the site, the service worker at its top."""
    yield from scripts().values()
    yield Asset(SERVICE_WORKER, bundle(folder("site") / SERVICE_WORKER)[0])
