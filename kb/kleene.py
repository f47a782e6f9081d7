"""Kleene's strong three-valued logic over yes, no and maybe."""

from __future__ import annotations

from collections.abc import Iterable

from kb.records import Verdict


def every(verdicts: Iterable[Verdict]) -> Verdict:
    """And: no where any is no, yes where all are yes (and where there is none), else maybe."""
    found = set(verdicts)
    if "no" in found:
        return "no"
    return "maybe" if "maybe" in found else "yes"


def some(verdicts: Iterable[Verdict]) -> Verdict:
    """Or: yes where any is yes, no where all are no (and where there is none), else maybe."""
    found = set(verdicts)
    if "yes" in found:
        return "yes"
    return "maybe" if "maybe" in found else "no"


def opposite(verdict: Verdict) -> Verdict:
    """Not: yes and no change places, maybe stays."""
    swapped: dict[Verdict, Verdict] = {"yes": "no", "no": "yes", "maybe": "maybe"}
    return swapped[verdict]


def agreed(verdicts: Iterable[Verdict]) -> Verdict:
    """Over several possible readings: what all of them say, else maybe. There is at least one."""
    found = set(verdicts)
    return found.pop() if len(found) == 1 else "maybe"
