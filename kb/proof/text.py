"""Rules on the body: pictures, panels and quantities, and numbers that lead nowhere."""

from __future__ import annotations

import re
from collections.abc import Iterator
from posixpath import relpath

from kb.addresses import below
from kb.dates import parse_days
from kb.errors import DateError
from kb.folding import fold, nearest
from kb.pictures import check_svg
from kb.proof.base import BODY, DISK, FILES, NOTHING, TABLES, Found, Rule, each, meant, on, these
from kb.proof.look import PARTS, Look
from kb.proof.numbers import shape
from kb.records import Bulletin

NUMBER = re.compile(r"(?<![\w./@-])[A-Za-z0-9]+(?:[-.][A-Za-z0-9]+)+(?![\w/@-])")
_JOINT = re.compile(r"[-.](?=[A-Za-z0-9])")
_BLANK = re.compile(r"[ \n]")
_CODE = re.compile(
    r"^ {0,3}(?P<fence>`{3,}|~{3,}).*?(?:^ {0,3}(?P=fence)[`~]*[ \t]*$|\Z)"
    r"|(?<!`)(?P<ticks>`+)(?!`)(?:(?!\n[ \t]*\n).)+?(?<!`)(?P=ticks)(?!`)",
    re.MULTILINE | re.DOTALL,
)


def _notes(look: Look, bulletin: Bulletin) -> Iterator[Found]:
    """Yield what the reading of the body noted: panels, pictures, links, quantities."""
    for note in () if look.is_quiet(bulletin) else look.body(bulletin).notes:
        says = {"rule": note.rule, "message": note.message, "remedy": note.remedy}
        yield on(bulletin.file, note.line, **says)


def _pictures(look: Look, bulletin: Bulletin) -> Iterator[tuple[str, str, int]]:
    """Yield the path below the house, the address as typed, and the line of each picture."""
    folder = bulletin.file.rpartition("/")[0]
    for picture in () if look.is_quiet(bulletin) else look.body(bulletin).pictures:
        path = below(folder, picture.src)
        if path is not None:
            yield path, picture.src, picture.line


def _missing(look: Look, bulletin: Bulletin) -> Iterator[Found]:
    for path, src, line in _pictures(look, bulletin):
        if path not in look.files:
            near = nearest(path, look.files_in(path), 0.8)
            # Proposed as it has to be typed: by the way from the bulletin.
            typed = relpath(near, bulletin.file.rpartition("/")[0] or ".") if near else None
            yield on(bulletin.file, line, src=src, meant=meant(typed))


def _drawings(look: Look) -> Iterator[Found]:
    """Find drawings with anything in them that could act: each file is read once."""
    for path in look.house.files:
        if path.lower().endswith(".svg"):
            try:
                drawing = (look.house.folder / path).read_bytes()
            except OSError as trouble:
                yield on(path, 1, message=f"the picture cannot be read ({trouble.strerror})")
                continue
            for line, message in check_svg(drawing):
                yield on(path, line, message=message)


def _loose_numbers(look: Look, bulletin: Bulletin) -> Iterator[Found]:
    """Find numbers in the text that are built like bulletin numbers but belong to none."""
    for line, word in _words(look, bulletin, look.number_shapes):
        if fold(word) not in look.numbers and not _is_date(word):
            near = look.near(word, "bulletin", look.numbers)
            yield on(bulletin.file, line, word=word, meant=meant(near))


def _loose_parts(look: Look, bulletin: Bulletin) -> Iterator[Found]:
    """Find numbers in the text that are built like part numbers but belong to none."""
    for line, word in _words(look, bulletin, look.part_shapes):
        if not (fold(word) in look.part_numbers or _is_date(word) or look.lost(PARTS, word)):
            near = look.near(word, "part", look.part_numbers)
            yield on(bulletin.file, line, word=word, meant=meant(near))


def _words(look: Look, bulletin: Bulletin, shapes: frozenset[str]) -> Iterator[tuple[int, str]]:
    """Yield words of a body that have one of *shapes* and mean nothing else, with their line."""
    for start, word, built in look.once("numbers", bulletin, _numbers) if shapes else ():
        if built in shapes and not look.means(word):
            yield bulletin.body_line + bulletin.body.count("\n", 0, start), word


def _numbers(look: Look, bulletin: Bulletin) -> list[tuple[int, str, str]]:
    """Return place, words and shape of all that may be a number in a body."""
    # What is set as code is shown as it is: numbers in it are not made links, nor asked after.
    text = bulletin.body
    if "`" in text or "~~~" in text:
        text = _CODE.sub(lambda m: "`" * len(m.group()), text)
    found = ((m.start(), m.group()) for m in joined(text))
    return [(at, word, shape(word)) for at, word in found if any(map(str.isdigit, word))]


def joined(text: str) -> Iterator[re.Match[str]]:
    """Yield the matches of `NUMBER`, looked for only around the few hyphens and dots in words."""
    done = 0
    for joint in _JOINT.finditer(text):
        at = joint.start()
        if at >= done:
            start = max(text.rfind(" ", 0, at), text.rfind("\n", 0, at)) + 1
            blank = _BLANK.search(text, at)
            done = blank.start() if blank else len(text)
            yield from NUMBER.finditer(text, start, done)


def _is_date(word: str) -> bool:
    try:
        parse_days(word)
    except DateError:
        return False
    return True


NOTES = Rule(
    name="{rule}",
    level="error",
    message="{message}",
    remedy="{remedy}",
    find=each(_notes),
    own=BODY,
    over=NOTHING,
)

_KNOWN = these("number", "codes", FILES, TABLES)

RULES = (
    Rule(
        name="picture-missing",
        level="error",
        message="there is no picture '{src}'",
        remedy="{meant}put the file into the bulletin's folder",
        find=each(_missing),
        own=BODY,
        over=these(FILES),
    ),
    Rule(
        name="picture-acts",
        level="error",
        message="{message}",
        remedy="save the drawing as plain SVG: no script, links or anything from outside",
        find=_drawings,
        over=these(FILES, DISK),
    ),
    Rule(
        name="text-bulletin-unknown",
        level="warning",
        message="the text speaks of {word}, and there is no such bulletin",
        remedy="{meant}take it out",
        find=each(_loose_numbers),
        own=BODY,
        over=_KNOWN,
    ),
    Rule(
        name="text-part-unknown",
        level="warning",
        message="the text speaks of {word}, and there is no such part",
        remedy="{meant}add the part to reference/parts.csv",
        find=each(_loose_parts),
        own=BODY,
        over=_KNOWN,
    ),
)
