"""The values of keys, typed by what is asked for; whatever does not fit is reported at its line."""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Iterator, Sequence
from datetime import date
from typing import TypeVar

from kb.dates import Days, parse_days
from kb.errors import DateError, Level
from kb.faults import Faults, quoted
from kb.folding import fold, nearest
from kb.records import Count
from kb.yamltext import Broken, Keys, Node, Pair, Rows, Text
from kb.yamlwords import glued

_T = TypeVar("_T")
_Word = TypeVar("_Word", bound=str)
# The keys that a mapping may have, in order: whether one that stands without a value is an error.
Known = dict[str, bool]

_NUMBER = re.compile(r"(?:\d{1,9}(?:\.\d{1,9})?|\.\d{1,9})", re.ASCII)
_WHOLE = re.compile(r"\d{1,7}", re.ASCII)
_RANGE = re.compile(r"(\d{1,7})?\s*(\.\.)\s*(\d{1,7})?|(\d{1,7})", re.ASCII)
_DATE = re.compile(r"\d{4}-\d{2}-\d{2}", re.ASCII)
_YES = {"yes": True, "true": True, "on": True, "no": False, "false": False, "off": False}


class Fields:
    """One mapping as the schema sees it: ask for each key by its type, then `finish`.

    *place* names the mapping in messages (``checks`` for one of its checks). Each getter returns
    its default where the key is absent or its value wrong; wrong values go to *faults*. Where the
    mapping is *open*, a key that is not like any known one is only warned of.
    """

    def __init__(
        self, keys: Keys, faults: Faults, known: Known, place: str = "", is_open: bool = False
    ) -> None:
        self.pairs = keys.pairs
        self.line = keys.line
        self.faults = faults
        self.known = known
        self.place = place
        if not self.pairs.keys() <= known.keys():
            self._unknown(known, is_open)

    def _unknown(self, known: Known, is_open: bool) -> None:
        pairs = dict(self.pairs)
        for name, (line, value) in self.pairs.items():
            if name in known or (isinstance(value, Broken) and value.hidden):
                continue
            if self.faults.full:
                break
            del pairs[name]
            if name.startswith("x-"):
                continue
            near = _meant(name, known, 0.75 if is_open else 0.6)
            if ":" in name:
                pairs.setdefault(name.split(":", 1)[0], Pair(line, Broken(line)))
            elif near and near not in pairs:
                pairs[near] = self.pairs[name]
            if isinstance(value, Text) and not value.text and " " in name and ":" not in name:
                message = f"{quoted(name)} is cut off at a comma"
                remedy = "put the whole text, comma and all, in quotes"
                self.wrong(line, "syntax", message, remedy)
                continue
            level: Level = "warning" if is_open and not near and ":" not in name else "error"
            words = _unknown_words(name, near, known, self.place)
            self.faults.add(line, "unknown-key", *words, level=level)
        self.pairs = pairs

    def __contains__(self, key: str) -> bool:
        return key in self.pairs

    def wrong(self, line: int, rule: str, message: str, remedy: str) -> None:
        """Report a problem at *line*."""
        self.faults.add(line, rule, message, remedy)

    def at(self, key: str) -> int:
        """Return the line of *key*, or that of the mapping where the key is absent."""
        pair = self.pairs.get(key)
        return pair.line if pair else self.line

    def item_line(self, key: str, index: int) -> int:
        """Return the line of one item of a list, or that of *key* where it has one value."""
        pair = self.pairs[key]
        if isinstance(pair.value, Rows) and index < len(pair.value.items):
            return pair.value.items[index].line
        return pair.line

    def need(self, key: str, example: str, line: int | None = None, level: Level = "error") -> bool:
        """Tell whether *key* is there; report it as missing where it is not."""
        if key in self.pairs:
            return True
        where = f"{self.place}: " if self.place else ""
        self.faults.add(
            self.line if line is None else line,
            "missing-key",
            f"{where}the key “{key}” is missing",
            f"add a line such as “{key}: {example}”",
            level,
        )
        return False

    def text(self, key: str, one_line: bool = False) -> str:
        """Return the text of *key*, trimmed; empty where there is none."""
        pair = self.pairs.get(key)
        if pair is None:
            return ""
        text = self._scalar(key, pair.value, pair.line)
        if one_line and "\n" in text:
            self.wrong(
                pair.line, "one-line", f"“{key}” runs over several lines", "write it on one line"
            )
            return " ".join(text.split())
        return text

    def _scalar(self, key: str, value: Node, line: int) -> str:
        if isinstance(value, Text):
            text = value.text.strip()
            if not text:
                self._blank(key, line)
            return text
        if not isinstance(value, Broken):
            self._shape(key, value, line)
        return ""

    def _blank(self, key: str, line: int) -> None:
        self.faults.add(
            line,
            "empty",
            f"“{key}” has no value",
            "fill it in, or remove the line where it is not needed",
            level="error" if self.known.get(key, True) else "warning",
        )

    def _shape(self, key: str, value: Node, line: int) -> None:
        what = "a list" if isinstance(value, Rows) else "keys of its own"
        remedy = (
            f"write one value, “{key}: …”, without brackets and dashes"
            if isinstance(value, Rows)
            else "write plain text; where it holds a colon or brackets, put it in quotes"
        )
        self.wrong(line, "wrong-shape", f"“{key}” takes one value, not {what}", remedy)

    def needed_texts(self, key: str) -> tuple[str, ...]:
        """Return the items of a list that must not be empty."""
        found = self.texts(key)
        pair = self.pairs.get(key)
        if pair and isinstance(pair.value, Rows) and not pair.value.items:
            self.wrong(pair.line, "empty", f"the list “{key}” is empty", "name one at least")
        return found

    def texts(self, key: str) -> tuple[str, ...]:
        """Return the items of a list of texts; one value alone is a list of one."""
        pair = self.pairs.get(key)
        if pair is None:
            return ()
        value = pair.value
        if isinstance(value, Rows):
            texts = [item.text.strip() for item in value.items if isinstance(item, Text)]
            if len(texts) == len(value.items) and all(texts):
                return tuple(texts)
            return tuple(filter(None, [self._item(key, item) for item in value.items]))
        text = self._scalar(key, value, pair.line) if isinstance(value, Text) else ""
        if isinstance(value, Keys):
            self._list_of_text(key, pair.line)
        return (text,) if text else ()

    def _item(self, key: str, item: Node) -> str:
        if isinstance(item, Text):
            text = item.text.strip()
            if not text:
                self.wrong(
                    item.line,
                    "empty",
                    f"an item of “{key}” is empty",
                    "fill it in, or remove the dash or comma",
                )
            return text
        if not isinstance(item, Broken):
            self._list_of_text(key, item.line)
        return ""

    def _list_of_text(self, key: str, line: int) -> None:
        self.wrong(
            line,
            "wrong-shape",
            f"“{key}” takes a list of plain texts",
            "write [one, another]; an item that holds a colon or brackets stands in quotes",
        )

    def blocks(self, key: str, scalar: str = "") -> Iterator[tuple[Keys, int]]:
        """Yield the mappings of a list of mappings with their index; one alone is a list of one.

        Where *scalar* is given, a plain text stands for a mapping with that one key.
        """
        pair = self.pairs.get(key)
        if pair is None:
            return
        items = pair.value.items if isinstance(pair.value, Rows) else [pair.value]
        for index, item in enumerate(items):
            if isinstance(item, Keys):
                yield item, index
            elif isinstance(item, Text) and scalar and item.text and not glued(item.text):
                yield Keys({scalar: _pair(item)}, item.line), index
            elif not isinstance(item, Broken):
                self._not_keys(key, item, item.line if len(items) > 1 else pair.line)

    def _not_keys(self, key: str, item: Node, line: int) -> None:
        if isinstance(item, Text) and not item.text.strip():
            self._blank(key, line)
        elif isinstance(item, Text) and glued(item.text):
            name = item.text.split(":", 1)[0]
            remedy = f"write “{name}: …” with a blank"
            self.wrong(item.line, "syntax", f"after “{name}:” a blank is missing", remedy)
        else:
            remedy = "write the keys of each item below one another, the first behind a dash"
            self.wrong(line, "wrong-shape", f"“{key}” takes keys of its own", remedy)

    def block(self, key: str) -> Keys | None:
        """Return the one mapping that stands under *key*."""
        pair = self.pairs.get(key)
        if pair is None or isinstance(pair.value, Broken):
            return None
        if isinstance(pair.value, Keys):
            return pair.value
        self._not_keys(key, pair.value, pair.line)
        return None

    def read(self, key: str, reader: Callable[[str], _T]) -> _T | None:
        """Return what *reader* makes of the text of *key*; `Unfit` and DateError are reported."""
        text = self.text(key) if key in self.pairs else ""
        if not text:
            return None
        try:
            return reader(text)
        except (Unfit, DateError) as trouble:
            rule = "bad-date" if isinstance(trouble, DateError) else "bad-value"
            self.wrong(self.at(key), rule, f"“{key}”: {trouble}", trouble.remedy)
            return None

    def one_of(self, key: str, known: Sequence[_Word]) -> _Word | None:
        """Return the one of *known* that is meant by the text of *key*."""
        text = self.text(key) if key in self.pairs else ""
        return self.choose(key, text, known, self.at(key)) if text else None

    def choose(self, key: str, text: str, known: Sequence[_Word], line: int) -> _Word | None:
        """Return the one of *known* that *text* means, case and hyphens apart."""
        if text in known:
            return known[known.index(text)]
        by_fold = {fold(word): word for word in known}
        word = by_fold.get(fold(text))
        if word is None and not self.faults.full:
            near = nearest(text, known)
            start = f"did you mean {near}? " if near else ""
            self.wrong(
                line,
                "unknown-word",
                f"“{key}” does not know {quoted(text)}",
                f"{start}It takes one of {', '.join(known)}",
            )
        return word


class Unfit(ValueError):
    """A text that is not of the type asked for, with its remedy."""

    def __init__(self, message: str, remedy: str) -> None:
        super().__init__(message)
        self.remedy = remedy


def number(text: str) -> float:
    """Return a number above 0 with a decimal point."""
    if _NUMBER.fullmatch(text) and (value := float(text)) > 0:
        return value
    remedy = "write a plain number above 0, such as 15 or 2.5"
    if re.fullmatch(r"\d+,\d+", text):
        remedy = f"write the decimals behind a point: {text.replace(',', '.')}"
    raise Unfit(f"{quoted(text)} is no number above 0", remedy)


def share(text: str) -> float:
    """Return a likelihood, 0 to 1; ``50 %`` is 0.5."""
    bare = text.removesuffix("%").strip()
    if _NUMBER.fullmatch(bare):
        value = float(bare) / (100 if bare != text else 1)
        if value <= 1:
            return value
    raise Unfit(
        f"{quoted(text)} is no likelihood from 0 to 1", "write 0.5 (or 50 %) for one case in two"
    )


def quantity(text: str) -> int:
    """Return a whole number of 1 or more."""
    if _WHOLE.fullmatch(text) and int(text) >= 1:
        return int(text)
    raise Unfit(f"{quoted(text)} is no whole number of 1 or more", "write how many, such as 2")


def yes_no(text: str) -> bool:
    """Return True for yes, true, on and False for no, false, off."""
    if (value := _YES.get(text.casefold())) is not None:
        return value
    raise Unfit(f"{quoted(text)} is neither yes nor no", "write yes or no")


def day(text: str) -> date:
    """Return one day, written 2026-03-02."""
    if not _DATE.fullmatch(text):
        raise Unfit(f"{quoted(text)} is no date", "write year-month-day, such as 2026-03-02")
    try:
        return date.fromisoformat(text)
    except ValueError:
        remedy = "look at a calendar: months run to 12, days to 28 to 31"
        raise Unfit(f"there is no {text}", remedy) from None


def days(text: str) -> Days:
    """Return a range of days as `kb.dates.parse_days` reads it."""
    return parse_days(text)


def count_range(text: str) -> Count:
    """Return a range of whole numbers: ``2``, ``2..``, ``..3``, ``2..4``."""
    found = _RANGE.fullmatch(text)
    if found is None or (found[2] and not found[1] and not found[3]):
        raise Unfit(f"{quoted(text)} is no range of whole numbers", "write 2, 2.., ..3 or 2..4")
    if found[4]:
        return Count(int(found[4]), int(found[4]))
    low, high = (int(end) if end else None for end in (found[1], found[3]))
    if low is not None and high is not None and low > high:
        raise Unfit(f"{quoted(text)} ends before it begins", f"write {high}..{low}")
    return Count(low, high)


def known_keys(*names: str, needed: Collection[str] = ()) -> Known:
    """Return the keys of a mapping, in the order in which they are proposed.

    One of *needed* that stands without a value is an error; any other counts as left out.
    """
    return {name: name in needed for name in names}


def _pair(value: Text) -> Pair:
    return Pair(value.line, value)


def _meant(name: str, known: Known, cutoff: float) -> str | None:
    by_fold = {fold(word.replace("_", "-")): word for word in known}
    return by_fold.get(fold(name.replace("_", "-"))) or nearest(name, known, cutoff)


def _unknown_words(name: str, near: str | None, known: Known, place: str) -> tuple[str, str]:
    """Return message and remedy for a key that is not in the schema."""
    inside = f" in “{place}”" if place else ""
    message = f"there is no key {quoted(name)}{inside}"
    if ":" in name:
        first = name.split(":", 1)[0]
        return f"after “{first}:” a blank is missing", f"write “{first}: …” with a blank"
    if near:
        return message, f"did you mean “{near}”? Keys of your own begin with “x-”"
    most = ", ".join(known) if len(known) < 12 else "those of `kb draft`"
    return message, f"the keys are {most}; keys of your own begin with “x-”"
