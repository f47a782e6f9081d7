"""Numbers in running text that become links by themselves: where one starts and where it ends.

What a number means is not known here: a callback is asked for each candidate. Hyphens, dots and
blanks inside a number never matter (``2026 014``, ``E-21``), but a number that goes on behind a
hyphen or dot is another number, and a blank joins only what is typed in capitals and digits.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from itertools import pairwise

Link = Callable[[str], "str | None"]

_CANDIDATE = re.compile(r"[^\W_]+")
_JOINT = re.compile(r"[-.\u2010-\u2015\u2212]")
_BLANKS = (" ", "\u00a0")
_LONGEST = 6


def linked(
    text: str, link: Link, hint: re.Pattern[str] | None = None
) -> Iterator[tuple[str, str | None]]:
    """Yield *text* in pieces, each with the address it leads to or None; longest numbers first.

    *link* gives the same answer whenever it is asked. *hint* is found in every text that holds a
    number which *link* knows; a text without it is not looked at.

    >>> list(linked("See E-21.", {"E-21": "e21.html"}.get))
    [('See ', None), ('E-21', 'e21.html'), ('.', None)]
    """
    if hint is not None and not hint.search(text):
        if text:
            yield text, None
        return
    runs = [found.span() for found in _CANDIDATE.finditer(text)]
    done = at = 0
    while (at := _likely(text, runs, at, hint)) < len(runs):
        count, href = _longest(text, runs, at, link, hint)
        if href:
            first, last = runs[at][0], runs[at + count - 1][1]
            if first > done:
                yield text[done:first], None
            yield text[first:last], href
            done = last
        at += count
    if done < len(text):
        yield text[done:], None


def _likely(
    text: str, runs: Sequence[tuple[int, int]], at: int, hint: re.Pattern[str] | None
) -> int:
    """Return the first run from *at* on at which a number with the *hint* in it can begin."""
    if hint is None or at >= len(runs):
        return at
    found = hint.search(text, runs[at][0])
    if not found:
        return len(runs)
    while at < len(runs) and runs[min(at + _LONGEST, len(runs)) - 1][1] <= found.start():
        at += 1
    return at


def _longest(
    text: str,
    runs: Sequence[tuple[int, int]],
    at: int,
    link: Link,
    hint: re.Pattern[str] | None,
) -> tuple[int, str | None]:
    """Return how many runs from *at* on make a known number, and its address; or 1 and None."""
    for count in range(_reach(text, runs, at), 0, -1):
        # What is known is asked first: hardly a word is, and how it stands takes longer to see.
        first, last = runs[at][0], runs[at + count - 1][1]
        if hint is not None and not hint.search(text, first, last):
            continue
        href = link(text[first:last])
        if href and _one_number(text, runs[at : at + count]) and _free(text, runs, at, count, link):
            return count, href
    return 1, None


def _reach(text: str, runs: Sequence[tuple[int, int]], at: int) -> int:
    """Return how many runs from *at* on can be one number at most: 1 for an ordinary word."""
    first = text[slice(*runs[at])]
    capital = first == first.upper()
    count = 1
    while count < min(_LONGEST, len(runs) - at):
        gap = text[runs[at + count - 1][1] : runs[at + count][0]]
        if not (_JOINT.fullmatch(gap) or (capital and gap in _BLANKS)):
            break
        count += 1
    return count


def _one_number(text: str, runs: Sequence[tuple[int, int]]) -> bool:
    """Tell whether the runs may be one number: joined by hyphens, dots, or blanks if capital."""
    whole = text[runs[0][0] : runs[-1][1]]
    gaps = [text[a[1] : b[0]] for a, b in pairwise(runs)]
    if all(_JOINT.fullmatch(gap) for gap in gaps):
        return True
    blanks = all(_JOINT.fullmatch(gap) or gap in _BLANKS for gap in gaps)
    return blanks and whole == whole.upper() and any(c.isdigit() for c in whole)


def _free(text: str, runs: Sequence[tuple[int, int]], at: int, count: int, link: Link) -> bool:
    """Tell whether the number stands by itself: not part of a longer one, an address or a name."""
    before, after = runs[at][0], runs[at + count - 1][1]
    if text[max(0, before - 1) : before] in ("_", "@") or text[after : after + 1] in ("_", "@"):
        return False
    left = text[:before].rsplit(None, 1)[-1] if before and not text[before - 1].isspace() else ""
    if "://" in left:
        return False
    last = at + count - 1
    return not (_continues(text, runs, at, -1, link) or _continues(text, runs, last, 1, link))


def _continues(text: str, runs: Sequence[tuple[int, int]], at: int, step: int, link: Link) -> bool:
    """Tell whether the run beside *at* belongs to the same number; a known number is its own."""
    beside = at + step
    if not 0 <= beside < len(runs):
        return False
    left, right = sorted((runs[at], runs[beside]))
    joined = _JOINT.fullmatch(text[left[1] : right[0]]) is not None
    neighbour = text[slice(*runs[beside])]
    return joined and any(c.isdigit() for c in neighbour) and not link(neighbour)
