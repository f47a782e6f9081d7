"""Spoken text: its sentences, how long they take to say, and captions that go along.

A trainer says some 130 words a minute (common practice, no source); a caption has at most two
lines of 42 characters (common practice, no source). Captions are WebVTT, the W3C's format for
timed text: a signature line, then blocks of a time range and text, ``&``, ``<`` and ``>`` escaped.
"""

from __future__ import annotations

import re
import textwrap
from collections.abc import Iterable, Iterator, Sequence
from typing import NamedTuple

WORDS_PER_MINUTE = 130
LINE = 42
LINES = 2

_END = re.compile(r"(?:(?<=[.!?])|(?<=[.!?][\"'”’)]))\s+(?=[\"'“‘(]*[A-Z0-9])")
_SHORT = re.compile(r"\b(?:e\.g|i\.e|approx|No|no|Nos|min|max|fig|Fig|resp|cf|vs)\.$")


class Said(NamedTuple):
    """Something said, or shown in silence, with the seconds that it takes."""

    text: str
    seconds: float


class Cue(NamedTuple):
    """A caption: from and to in seconds, and its lines."""

    start: float
    end: float
    lines: tuple[str, ...]


def sentences(text: str) -> list[str]:
    """Return the sentences of a text; a number's point and a usual abbreviation end none."""
    found: list[str] = []
    for piece in _END.split(" ".join(text.split())):
        if found and _SHORT.search(found[-1]):
            found[-1] += f" {piece}"
        elif piece:
            found.append(piece)
    return found


def count_words(text: str) -> int:
    """Return how many words are said: runs of characters between blanks that hold any letter."""
    return sum(any(c.isalnum() for c in word) for word in text.split())


def seconds(text: str) -> float:
    """Return how long a text takes to say."""
    return count_words(text) * 60 / WORDS_PER_MINUTE


def said(text: str) -> Said:
    """Return a text with the time that it takes to say."""
    return Said(text, seconds(text))


def cues(script: Iterable[Said]) -> Iterator[Cue]:
    """Yield the captions of what is said in turn, each for its own words' share of the time."""
    now = 0.0
    for text, length in script:
        blocks = list(_blocks(text))
        weights = [max(count_words(" ".join(block)), 1) for block in blocks]
        start = now
        for at, block in enumerate(blocks):
            end = now + length * sum(weights[: at + 1]) / sum(weights)
            if end > start:
                yield Cue(start, end, block)
            start = end
        now += length


def _blocks(text: str) -> Iterator[tuple[str, ...]]:
    lines = textwrap.wrap(text, LINE, break_on_hyphens=False)
    for at in range(0, len(lines), LINES):
        yield tuple(lines[at : at + LINES])


def webvtt(captions: Sequence[Cue]) -> str:
    """Return captions as the text of a WebVTT file."""
    blocks = [f"{_time(c.start)} --> {_time(c.end)}\n{_escaped(c.lines)}" for c in captions]
    return "\n\n".join(["WEBVTT", *blocks]) + "\n"


def _escaped(lines: Sequence[str]) -> str:
    text = "\n".join(lines)
    return text.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")


def _time(value: float) -> str:
    thousandths = round(value * 1000)
    whole, part = divmod(thousandths, 1000)
    return f"{whole // 3600:02}:{whole // 60 % 60:02}:{whole % 60:02}.{part:03}"


def clock(value: float) -> str:
    """Return seconds as the time on a speaker's clock: minutes and seconds, hours if needed."""
    whole = round(value)
    hours, rest = divmod(whole, 3600)
    minutes = f"{rest // 60:02}" if hours else f"{rest // 60}"
    return f"{hours}:{minutes}:{rest % 60:02}" if hours else f"{minutes}:{rest % 60:02}"
