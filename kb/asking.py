"""Reading one typed line: which part of it is a unit, a code, a part number, and what is left.

Whatever the order and the typing: ``td45a3 kp1400031 e-21 wont drain``. Nothing is thrown away:
what is understood as a number still counts, what is not becomes a word.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Any, Protocol

from kb.folding import fold
from kb.wording import Wording, plain, raw_tokens

_QUOTED = re.compile(r"[\"\u201c\u201d\u201e]([^\"\u201c\u201d\u201e]*)[\"\u201c\u201d\u201e]")
_PIECE = re.compile(r"[^\s,;!?()\[\]]+")
_CODE_SHAPE = re.compile(r"[A-Z]{1,2}\d{1,3}")
_DIGITS = re.compile(r"\d+")
_ZEROS = re.compile(r"(?<!\d)0+(?=\d)")
_DASHES = re.compile(r"[\s\-\u2010-\u2015]+")
_BESIDE = re.compile(r"[/+&]")
_WINDOW = 5
_LEAST_OF_A_PART = 6


class Known(Protocol):
    """What a house knows by number."""

    def codes(self) -> Mapping[str, str]:
        """Every fault code: folded, and as displayed."""

    def bulletin_number(self, folded: str) -> str:
        """The bulletin number that *folded* stands for, or nothing."""

    def part_number(self, folded: str) -> str:
        """The part number that *folded* stands for, or nothing."""

    def parts_like(self, folded: str) -> Sequence[str]:
        """The part numbers that begin or end with *folded*, if it is clear which are meant."""

    def model_digit(self, folded: str) -> tuple[str, int | None] | None:
        """The model, and its digit, that *folded* stands for."""

    def is_serial(self, folded: str, model: str) -> bool:
        """Tell whether *folded* reads as a serial (of *model*, where one is known)."""

    def looks_serial(self, folded: str, model: str) -> bool:
        """Tell whether *folded* has the length and look of a serial, sound or not."""

    def begins_serial(self, folded: str, model: str) -> bool:
        """Tell whether *folded* is the beginning of a serial of *model*, as far as typed."""

    def is_word(self, text: str, growing: bool) -> bool:
        """Tell whether *text* is a word of a bulletin or, *growing*, the beginning of one."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """A line as understood.

    *words* are the words left, as typed in lower case; *quotes* runs of words that must stand so;
    *codes* as displayed (an unknown one in capitals, also in *unknown_codes*); *begun* a serial as
    far as it is typed; *unfinished* tells that the last word may still be growing.
    """

    text: str
    words: tuple[str, ...] = ()
    quotes: tuple[tuple[str, ...], ...] = ()
    codes: tuple[str, ...] = ()
    unknown_codes: tuple[str, ...] = ()
    parts: tuple[str, ...] = ()
    numbers: tuple[str, ...] = ()
    model: str = ""
    revision: int | None = None
    serial: str = ""
    begun: str = ""
    unfinished: bool = False


@dataclass(slots=True)
class _Line:
    """The pieces of a line that nothing has been made of yet; a used piece is None."""

    pieces: list[str | None]
    found: dict[str, Any] = field(default_factory=dict)

    def windows(self, widest: int) -> Iterable[tuple[int, int, str]]:
        """Yield (start, end, folded text) of every run of unused pieces, the widest first."""
        for width in range(min(widest, len(self.pieces)), 0, -1):
            for start in range(len(self.pieces) - width + 1):
                run = self.pieces[start : start + width]
                if None not in run:
                    yield start, start + width, fold("".join(filter(None, run)))

    def use(self, start: int, end: int) -> None:
        """Mark a run of pieces as understood."""
        self.pieces[start:end] = [None] * (end - start)


def read_line(
    text: str, known: Known, wording: Wording, model: str = "", serial: str = ""
) -> Asked:
    """Return what *text* asks for; *model* and *serial* given apart are not looked for in it."""
    text = text[: wording.thresholds["line"]]
    quotes = tuple(tuple(wording.words(quoted)) for quoted in _QUOTED.findall(text))
    rest = _QUOTED.sub(lambda m: f" {m[1]} ", text)
    pieces = [piece.strip(".:'\u2019") for piece in _PIECE.findall(rest)]
    line = _Line([piece for piece in pieces if fold(piece)])  # HR - 310: a lone hyphen is a joint
    asked = Asked(text=text, quotes=tuple(filter(None, quotes)), model=model, serial=serial)
    for step in _STEPS:
        asked = step(line, asked, known, wording)
    last = line.pieces[-1] if line.pieces else None
    left = [piece for piece in line.pieces if piece]
    words = tuple(word for piece in left for word in wording.words(piece))
    unfinished = bool(last) and _is_unfinished(text)
    if last and unfinished and not words:  # "he" may become "heat"
        words = tuple(raw_tokens(plain(last)))[-1:]
    return replace(asked, words=words, unfinished=unfinished)


def _is_unfinished(text: str) -> bool:
    """Tell whether the last word of *text* may still be growing."""
    return text[-1:].isalnum()


def _has_digit(text: str) -> bool:
    return any(c.isdigit() for c in text)


def _take(
    line: _Line, widest: int, find: Callable[[str], Sequence[str]], shortest: int = 2
) -> tuple[str, ...]:
    """Use up every window that *find* makes something of and return what it made, in order."""
    found: list[tuple[int, Sequence[str]]] = []
    for start, end, folded in line.windows(widest):
        if len(folded) >= shortest and None not in line.pieces[start:end] and _has_digit(folded):
            made = find(folded)
            if made:
                found.append((start, made))
                line.use(start, end)
    return tuple(dict.fromkeys(each for _, made in sorted(found) for each in made))


def _take_numbers(line: _Line, asked: Asked, known: Known, wording: Wording) -> Asked:
    return replace(asked, numbers=_take(line, 3, lambda f: _one(known.bulletin_number(f)), 3))


def _one(text: str) -> tuple[str, ...]:
    return (text,) if text else ()


def _take_parts(line: _Line, asked: Asked, known: Known, wording: Wording) -> Asked:
    announced = _places(line, wording.data["part_words"])
    parts = _take(line, 4, lambda f: _one(known.part_number(f)), 4)
    _drop_before(line, announced)
    return replace(asked, parts=parts)


def _take_parts_in_part(line: _Line, asked: Asked, known: Known, wording: Wording) -> Asked:
    """Take numbers typed without the maker's prefix, or not yet to their end."""
    announced = _places(line, wording.data["part_words"])
    parts = _take(line, 2, known.parts_like, _LEAST_OF_A_PART)
    _drop_before(line, announced)
    return replace(asked, parts=tuple(dict.fromkeys(asked.parts + parts)))


def _places(line: _Line, words: Iterable[str]) -> list[int]:
    """Return the places, the last first, of words that may announce a number."""
    announcing = set(words)
    found = [at for at, p in enumerate(line.pieces) if p and plain(p).strip(".:") in announcing]
    return found[::-1]


def _drop_before(line: _Line, announced: Iterable[int]) -> None:
    """Use up the announcing words that stand before what has been understood ("part no. …")."""
    for place in announced:
        if place + 1 < len(line.pieces) and line.pieces[place + 1] is None:
            line.use(place, place + 1)


def _take_model(line: _Line, asked: Asked, known: Known, wording: Wording) -> Asked:
    if asked.model:
        return asked
    for start, end, folded in line.windows(3):
        found = known.model_digit(folded) if _has_digit(folded) or end - start == 1 else None
        if found:
            line.use(start, end)
            model, digit = found
            if digit is None:
                digit = _digit_behind(line, end, wording)
            _drop_words(line, wording.unit_words)
            return replace(asked, model=model, revision=digit)
    return asked


def _digit_behind(line: _Line, at: int, wording: Wording) -> int | None:
    """Return the engineering digit said apart: ``TD45A digit 3``, ``TD45A /3``, ``TD45A 3 KP…``."""
    here = line.pieces[at] if at < len(line.pieces) else None
    if here is None:
        return None
    said = plain(here).strip("/") in wording.unit_words
    place = at + 1 if said else at
    text = (line.pieces[place] if place < len(line.pieces) else None) or ""
    bare = text.lstrip("/")
    after = line.pieces[place + 1] if place + 1 < len(line.pieces) else None
    sure = said or text.startswith("/") or after is None or _has_digit(after)
    if not (bare.isdecimal() and len(bare) <= 2 and sure):
        return None
    line.use(at, place + 1)
    return int(bare)


def _drop_words(line: _Line, words: Iterable[str]) -> None:
    """Use up words that only announce a number ("serial", "part no.")."""
    announcing = set(words)
    for place, piece in enumerate(line.pieces):
        if piece and plain(piece).strip(".:") in announcing:
            line.use(place, place + 1)


def _take_serial(line: _Line, asked: Asked, known: Known, wording: Wording) -> Asked:
    if asked.serial:
        return asked
    for test in (known.is_serial, known.looks_serial):
        for start, end, folded in line.windows(_WINDOW):
            if len(folded) > 3 and _has_digit(folded) and test(folded, asked.model):
                serial = " ".join(piece for piece in line.pieces[start:end] if piece)
                line.use(start, end)
                _drop_words(line, wording.unit_words)
                return replace(asked, serial=serial)
        if not asked.model:  # what only looks like a serial counts beside a model alone
            break
    return _take_begun(line, asked, known, wording)


def _take_begun(line: _Line, asked: Asked, known: Known, wording: Wording) -> Asked:
    """Take what is typed last behind a model as the serial that it may become.

    The unit stays in view while its serial is typed, instead of a search for half a serial.
    """
    if not (asked.model and _is_unfinished(asked.text)):
        return asked
    for start, end, folded in line.windows(_WINDOW):
        if end == len(line.pieces) and known.begins_serial(folded, asked.model):
            begun = " ".join(piece for piece in line.pieces[start:end] if piece)
            line.use(start, end)
            _drop_words(line, wording.unit_words)
            return replace(asked, begun=begun)
    return asked


def _take_codes(line: _Line, asked: Asked, known: Known, wording: Wording) -> Asked:
    reader = _Codes(known.codes(), wording)
    found: list[tuple[int, str]] = []
    unknown: list[str] = []
    for start, end, folded in line.windows(3):
        pieces = line.pieces[start:end]
        if None in pieces:
            continue
        announced = reader.announces(line.pieces[start - 1] if start else None)
        names = reader.read([piece for piece in pieces if piece], folded, announced)
        if names:
            found.extend((start, name) for name in names)
            line.use(start, end)
            if announced:
                line.use(start - 1, start)
    for place, piece in enumerate(line.pieces):
        if piece and _CODE_SHAPE.fullmatch(fold(piece)) and _has_digit(piece):
            growing = place + 1 == len(line.pieces) and _is_unfinished(asked.text)
            if not known.is_word(fold(piece).lower(), growing):  # R290, the beginning of TD60B
                unknown.append(fold(piece))
                line.use(place, place + 1)
    if found or unknown:
        _drop_words(line, wording.data["code_words"]["words"])
    codes = tuple(dict.fromkeys(name for _, name in sorted(found)))
    return replace(asked, codes=codes + tuple(unknown), unknown_codes=tuple(unknown))


_STEPS = (
    _take_numbers,
    _take_parts,
    _take_model,
    _take_serial,
    _take_parts_in_part,
    _take_codes,
)


class _Codes:
    """The fault codes of a house in the ways in which people type and say them."""

    def __init__(self, codes: Mapping[str, str], wording: Wording) -> None:
        words = wording.data["code_words"]
        self._said = frozenset(words["words"])
        self._letters: Mapping[str, str] = words["letters"]
        self._figures: Mapping[str, str] = words["digits"]
        self._alike = {
            ord(letter.upper()): figures[0]
            for letter, figures in words["look_alikes"].items()
            if letter.isalpha()
        }
        self._exact = codes

    @cached_property
    def _loose(self) -> dict[str, list[str]]:
        return self._shown_by(self._loosen)

    @cached_property
    def _digits(self) -> dict[str, list[str]]:
        return self._shown_by(_only_digits)

    def _shown_by(self, key: Callable[[str], str]) -> dict[str, list[str]]:
        found: dict[str, list[str]] = {}
        for folded, shown in sorted(self._exact.items()):
            found.setdefault(key(folded), []).append(shown)
        return found

    def _loosen(self, folded: str) -> str:
        """Return a code with look-alikes levelled and leading zeros gone: ``F-0S`` as ``F5``."""
        return folded[:1] + _ZEROS.sub("", folded[1:].translate(self._alike))

    def announces(self, piece: str | None) -> bool:
        """Tell whether a piece says that a code follows ("error", "shows")."""
        return piece is not None and plain(piece).strip(".:") in self._said

    def read(self, pieces: Sequence[str], folded: str, announced: bool) -> list[str]:
        """Return the codes, as displayed, that the pieces stand for."""
        several = _BESIDE.split(pieces[0]) if len(pieces) == 1 else []
        if len(several) > 1:  # E21/E24
            each = [self.read([piece], fold(piece), announced) for piece in several]
            return [code for codes in each for code in codes] if all(each) else []
        dotted = len(pieces) == 1 and ("." in pieces[0] or pieces[0].isupper())
        telling = _has_digit(folded) or announced or dotted
        if folded in self._exact and telling and (not folded.isdecimal() or announced):
            return [self._exact[folded]]
        spoken = self._spell_out(pieces)
        if spoken in self._exact and not spoken.isdecimal():
            return [self._exact[spoken]]
        if spoken[1:].isdecimal() and spoken[:1].isalpha():
            return self._loose.get(self._loosen(spoken), [])
        if _has_digit(folded) and not folded.isdecimal():
            return self._loose.get(self._loosen(folded), [])
        figures = spoken if announced else ""
        return self._digits.get(_only_digits(figures), []) if figures.isdecimal() else []

    def _spell_out(self, pieces: Sequence[str]) -> str:
        """Return pieces said in words as a folded code: ``e twenty one`` as ``E21``."""
        spoken = ""
        tens = False
        for piece in _DASHES.split(plain(" ".join(pieces))):
            figures = self._figures.get(piece, "")
            if tens and len(figures) == 1:
                spoken = spoken[:-1] + figures  # twenty one
            else:
                spoken += figures or self._letters.get(piece, fold(piece))
            tens = len(figures) == 2 and figures[1] == "0"
        return spoken.upper()


def _only_digits(text: str) -> str:
    return "".join(_DIGITS.findall(text)).lstrip("0")
