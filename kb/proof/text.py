"""Rules on the body: pictures, panels and quantities, and numbers that lead nowhere."""

from __future__ import annotations

import re
import string
from collections import Counter
from collections.abc import Iterable, Iterator
from posixpath import relpath

from kb.addresses import below
from kb.dates import parse_days
from kb.errors import DateError, Problem
from kb.folding import fold, nearest
from kb.pictures import check_svg
from kb.proof.base import Found, Rule, meant, on
from kb.proof.look import PARTS, Look
from kb.records import Bulletin

# A number in the text is only asked after if this many known ones are built like it.
_COMMON = 3
_SHAPE = str.maketrans(dict.fromkeys(string.digits, "9") | dict.fromkeys(string.ascii_letters, "A"))
NUMBER = re.compile(r"(?<![\w./@-])[A-Za-z0-9]+(?:[-.][A-Za-z0-9]+)+(?![\w/@-])")
_JOINT = re.compile(r"[-.](?=[A-Za-z0-9])")
_BLANK = re.compile(r"[ \n]")
_CODE = re.compile(
    r"^ {0,3}(?P<fence>`{3,}|~{3,}).*?(?:^ {0,3}(?P=fence)[`~]*[ \t]*$|\Z)"
    r"|(?<!`)(?P<ticks>`+)(?!`)(?:(?!\n[ \t]*\n).)+?(?<!`)(?P=ticks)(?!`)",
    re.MULTILINE | re.DOTALL,
)


def notes(look: Look) -> Iterator[Problem]:
    """Yield what the reading of the bodies noted: panels, pictures, links, quantities."""
    for bulletin in look.noted:
        for note in look.body(bulletin).notes:
            yield Problem(
                file=bulletin.file,
                line=note.line,
                level="error",
                rule=note.rule,
                message=note.message,
                remedy=note.remedy,
            )


def _pictures(look: Look, bulletin: Bulletin) -> Iterator[tuple[str, str, int]]:
    """Yield the path below the house, the address as typed, and the line of each picture."""
    folder = bulletin.file.rpartition("/")[0]
    for picture in look.body(bulletin).pictures:
        path = below(folder, picture.src)
        if path is not None:
            yield path, picture.src, picture.line


def _missing(look: Look) -> Iterator[Found]:
    for bulletin in look.noted:
        yield from _missing_in(look, bulletin)


def _missing_in(look: Look, bulletin: Bulletin) -> Iterator[Found]:
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


def _shape(number: str) -> str:
    return number.translate(_SHAPE)


def _shapes(numbers: Iterable[str]) -> frozenset[str]:
    counts = Counter(map(_shape, numbers))
    return frozenset(shape for shape, count in counts.items() if count >= _COMMON and "9" in shape)


def _loose_numbers(look: Look) -> Iterator[Found]:
    """Find numbers in the text that are built like bulletin numbers but belong to none."""
    shapes = _shapes(b.number for b in look.bulletins)
    for bulletin, line, word in _words(look, shapes):
        if fold(word) not in look.numbers and not _is_date(word):
            near = look.near(word, "bulletin", look.numbers)
            yield on(bulletin.file, line, word=word, meant=meant(near))


def _loose_parts(look: Look) -> Iterator[Found]:
    """Find numbers in the text that are built like part numbers but belong to none."""
    shapes = _shapes(look.part_numbers.values()) - _shapes(b.number for b in look.bulletins)
    for bulletin, line, word in _words(look, shapes):
        if not (fold(word) in look.part_numbers or _is_date(word) or look.lost(PARTS, word)):
            near = look.near(word, "part", look.part_numbers)
            yield on(bulletin.file, line, word=word, meant=meant(near))


def _words(look: Look, shapes: frozenset[str]) -> Iterator[tuple[Bulletin, int, str]]:
    """Yield words of bodies that have one of *shapes* and mean nothing else, with their line."""
    for bulletin in look.bulletins if shapes else ():
        for start, word, shape in look.once("numbers", bulletin, _numbers):
            if shape in shapes and not look.means(word):
                line = bulletin.body_line + bulletin.body.count("\n", 0, start)
                yield bulletin, line, word


def _numbers(look: Look, bulletin: Bulletin) -> list[tuple[int, str, str]]:
    """Return place, words and shape of all that may be a number in a body."""
    # What is set as code is shown as it is: numbers in it are not made links, nor asked after.
    text = bulletin.body
    if "`" in text or "~~~" in text:
        text = _CODE.sub(lambda m: "`" * len(m.group()), text)
    found = ((m.start(), m.group()) for m in joined(text))
    return [(at, word, _shape(word)) for at, word in found if any(map(str.isdigit, word))]


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


RULES = (
    Rule(
        name="picture-missing",
        level="error",
        message="there is no picture '{src}'",
        remedy="{meant}put the file into the bulletin's folder",
        find=_missing,
    ),
    Rule(
        name="picture-acts",
        level="error",
        message="{message}",
        remedy="save the drawing as plain SVG: no script, links or anything from outside",
        find=_drawings,
    ),
    Rule(
        name="text-bulletin-unknown",
        level="warning",
        message="the text speaks of {word}, and there is no such bulletin",
        remedy="{meant}take it out",
        find=_loose_numbers,
    ),
    Rule(
        name="text-part-unknown",
        level="warning",
        message="the text speaks of {word}, and there is no such part",
        remedy="{meant}add the part to reference/parts.csv",
        find=_loose_parts,
    ),
)
