"""Starting a bulletin: the next number, the file in its place, and a copy of an earlier one."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from datetime import date
from pathlib import Path

from kb.errors import KbError, NotFound
from kb.folding import fold, fold_name, nearest
from kb.records import Bulletin, House

_RUNNING = re.compile(r"^(.*?)(\d+)$")
_NUMBER = re.compile(r"[A-Za-z0-9.-]{1,40}")
_PLAIN = re.compile(r"[^\W\d_][\w .,/()-]*", re.ASCII)
_UNTYPED = re.compile("[\x00-\x1f\x7f-\x9f\u2028\u2029\ufeff\ufffe\uffff\ud800-\udfff]+")
_MARK = "\ufeff"  # the byte-order mark, as it reads in UTF-8
_TOP_KEY = re.compile(r"""["']?([\w.-]+)["']?[ \t]*:(?=[ \t\r\n]|$)""")
# A key with a value on its line: quoted or plain, perhaps with a comment behind it.
_LINE = re.compile(
    r"""(?P<head>[^:]*:)(?P<gap>[ \t]*)
        (?:'(?:[^'\r\n]|'')*' | "(?:[^"\\\r\n]|\\.)*" | [^'"\r\n](?:[^\r\n])*? | )
        (?P<tail>(?:[ \t]+\#[^\r\n]*|[ \t]*)\r?\n?)\Z""",
    re.VERBOSE,
)

_SHEET = """\
---
number: {number}
title: {title}
kind: {kind}
issued: {issued}
status: draft                 # take this line out when it may be published
family: {family}
# models: [AB45, AB6?]        # only these of the family; ? is one character, * any
built: ..                     # by date of production: 2024-W10..2025-W22, 2024-03.., ..2024
component: {component}
symptoms: []                  # what the technician or the owner notices, in their words
codes: []                     # fault codes as displayed
hazards: []                   # electricity, gas, hot-water, sharp-edges, moving-parts, heavy, …
minutes: 30                   # labour for the whole correction
# checks:                     # shown in the order that takes the least time
#   - cause: connector not fully home
#     test: pull each wire of the connector
#     likelihood: 0.5
#     minutes: 5
#     fix: seat the connector until it clicks
# parts:
#   - number: …
---

What the owner sees, and the cause, in one or two sentences.

## What to do

1. First this.
2. Then that. A torque or a size in braces, {{12 N m}}, shows in both unit systems.
"""


def next_number(bulletins: Iterable[Bulletin], year: int, taken: Iterable[str] = ()) -> str:
    """Return the next free number of *year*, counted on in the form the house already uses.

    *taken* holds further numbers that are in use. A house that numbers without the year goes on
    from its newest bulletin.
    """
    known = list(bulletins)
    numbers = [bulletin.number for bulletin in known] + list(taken)
    start = f"{year}-"
    dated = any(re.match(r"(19|20)\d\d-", number) for number in numbers)
    if known and not dated:
        newest = max(known, key=lambda b: (b.issued, b.number)).number
        match = _RUNNING.match(newest)
        start = match[1] if match else f"{newest}-"
    tails = [m[2] for m in map(_RUNNING.match, numbers) if m and m[1] == start]
    width = max(map(len, tails), default=3)
    return f"{start}{max(map(int, tails), default=0) + 1:0{width}}"


def sheet(number: str, today: date, given: Mapping[str, str], house: House) -> str:
    """Return the text of a new bulletin; *given* may hold title, kind, family and component.

    NotFound, with the nearest, for a family that the house does not know.
    """
    return _SHEET.format(
        number=number,
        title=quoted(
            one_line(given.get("title", "")) or "What is wrong, in the words of who sees it"
        ),
        kind=given.get("kind") or "repair",
        issued=today.isoformat(),
        family=quoted(_family(house, given.get("family", ""))),
        component=quoted(one_line(given.get("component", "")) or _component(house)),
    )


def _family(house: House, asked: str) -> str:
    if not asked:
        return next(iter(house.families), "name it")
    known = {fold_name(name): name for name in house.families}
    if fold_name(asked) in known:
        return known[fold_name(asked)]
    near = nearest(asked, house.families)
    told = f"did you mean {near}?" if near else f"there are: {', '.join(house.families)}"
    raise NotFound(f"no family {asked} is known", told)


def _component(house: House) -> str:
    named = (part.component for part in house.parts if part.component)
    written = (name for bulletin in house.bulletins for name in bulletin.component)
    return next(iter([*house.components, *named, *written]), "name it")


def one_line(text: str) -> str:
    """Return *text* as one line without invisible characters that a file cannot hold."""
    return " ".join(_UNTYPED.sub(" ", text).split())


def quoted(text: str) -> str:
    """Return *text* as a value that front matter reads back unchanged."""
    if _PLAIN.fullmatch(text) and text == text.strip():
        return text
    return "'" + text.replace("'", "''") + "'"


def copied(text: str, number: str, today: date, title: str = "") -> str:
    """Return the text of a bulletin as a new draft: number, date, status and title changed.

    What told of the old bulletin alone goes (``revised``, ``supersedes``). Everything else stays
    to the byte: line ends, byte-order mark, comments, order of keys.
    """
    changes = {"number": number, "issued": today.isoformat(), "status": "draft"}
    if title:
        changes["title"] = quoted(one_line(title))
    mark, text = (_MARK, text[1:]) if text.startswith(_MARK) else ("", text)
    opening, *rest = text.splitlines(keepends=True)
    close = next((i for i, line in enumerate(rest) if line.rstrip() == "---"), len(rest))
    head: list[str] = []
    for name, lines in _entries(rest[:close]):
        if name in changes:
            head += _changed(lines, changes.pop(name))
        elif name not in ("revised", "supersedes"):
            head += lines
    end = "\r\n" if opening.endswith("\r\n") else "\n"
    head += [f"{name}: {value}{end}" for name, value in changes.items()]
    return "".join([mark, opening, *head, *rest[close:]])


def _entries(lines: Iterable[str]) -> Iterator[tuple[str, list[str]]]:
    """Yield each top-level key with its lines; what stands between keys comes without a name."""
    name = ""
    block: list[str] = []
    between: list[str] = []
    for line in lines:
        found = _TOP_KEY.match(line)
        if found:
            yield from ((name, block), ("", between))
            name, block, between = found[1], [line], []
        elif not line.strip() or line.startswith("#"):
            between.append(line)  # a comment at the margin belongs to what follows
        else:
            block, between = [*block, *between, line], []
    yield from ((name, block), ("", between))


def _changed(lines: list[str], value: str) -> list[str]:
    """Return the lines of a key with a new value, the comment behind it kept."""
    match = _LINE.match(lines[0])
    if match is None:  # a value that opens on this line and ends on another
        end = lines[0][len(lines[0].rstrip("\r\n")) :]
        return [f"{lines[0].partition(':')[0]}: {value}{end}"]
    return [f"{match['head']}{match['gap'] or ' '}{value}{match['tail']}"]


def draft(
    house: House, today: date, given: Mapping[str, str], like: str = "", number: str = ""
) -> Path:
    """Write a new draft into the house and return its file.

    *like* names a bulletin to copy. KbError where the number is taken or is none; NotFound for an
    unknown *like* or family.
    """
    known = {fold(b.number): b for b in (*house.unsound, *house.bulletins)}
    files = [Path(file).stem for file in house.files if file.lower().endswith(".md")]
    number = number or next_number(known.values(), today.year, files)
    path = house.folder / str(today.year) / f"{number}.md"
    _refuse_taken(number, {*known, *map(fold, files)})
    if like:
        text = copied(_source(house, known, like), number, today, given.get("title", ""))
    else:
        text = sheet(number, today, given, house)
    path.parent.mkdir(parents=True, exist_ok=True)
    with open(path, "xb") as file:
        file.write(text.encode("utf-8"))
    return path


def _refuse_taken(number: str, taken: Iterable[str]) -> None:
    if not _NUMBER.fullmatch(number) or not fold(number):
        raise KbError(
            f"{number} is no bulletin number",
            "a number is made of letters, digits, hyphens and dots: 2026-014",
        )
    if fold(number) in taken:
        raise KbError(f"number {number} is taken", "leave --number out for the next free one")


def _source(house: House, known: Mapping[str, Bulletin], like: str) -> str:
    bulletin = known.get(fold(like))
    if bulletin is None:
        near = nearest(like, [b.number for b in known.values()])
        raise NotFound(
            f"no bulletin {like} is known", f"did you mean {near}?" if near else "see `kb find`"
        )
    try:
        return (house.folder / bulletin.file).read_bytes().decode("utf-8")
    except UnicodeDecodeError as error:
        raise KbError(f"{bulletin.file} is not UTF-8", "see `kb proof`") from error
