"""The trainer's talk: what to say about each bulletin, in short sentences drawn from it.

The running time is that of the words said and of what is shown: the first check of a bulletin is
carried out on the stage and takes its own minutes (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from kb.pages.ordering import Ordered
from kb.pages.page import Way
from kb.pages.roundups import Digest, Replaced
from kb.speaking import Said, said, sentences

_MOST_SENTENCES = 3
_MOST_NAMED = 4


@dataclass(frozen=True, slots=True)
class Sheet:
    """One page of the talk: *notes* are said, then *shown* is carried out, in seconds each."""

    heading: str
    number: str
    start: float
    notes: tuple[Said, ...]
    shown: Said | None

    @property
    def seconds(self) -> float:
        """How long the page takes."""
        return sum(note.seconds for note in self.notes) + (self.shown.seconds if self.shown else 0)


def talk(digests: Sequence[Digest], when: str, gone: Sequence[Replaced], house: str) -> list[Sheet]:
    """Return the pages of the talk: an opening, a page a bulletin, and what stands no more."""
    drafts: list[tuple[str, str, list[str], Said | None]] = [
        ("What changed", "", list(_opening(digests, when, house)), None)
    ]
    drafts += [(d.way.remark, d.way.text, list(spoken(d)), demonstration(d)) for d in digests]
    if gone:
        drafts.append(("What stands no more", "", list(_closing(gone)), None))
    sheets: list[Sheet] = []
    now = 0.0
    for heading, number, notes, shown in drafts:
        sheets.append(Sheet(heading, number, now, tuple(map(said, notes)), shown))
        now += sheets[-1].seconds
    return sheets


def script(sheets: Iterable[Sheet]) -> Iterator[Said]:
    """Yield all that is said and shown, in turn."""
    for sheet in sheets:
        yield from sheet.notes
        if sheet.shown:
            yield Said(f"[Shown: {sheet.shown.text}]", sheet.shown.seconds)


def minutes(sheets: Iterable[Sheet]) -> float:
    """Return the running time of all pages."""
    return sum(sheet.seconds for sheet in sheets) / 60


def demonstration(digest: Digest) -> Said | None:
    """Return the check that is carried out on the stage, with its time; None without any."""
    check = digest.first
    return Said(check.test or check.cause, check.minutes * 60) if check else None


def _opening(digests: Sequence[Digest], when: str, house: str) -> Iterator[str]:
    count = len(digests)
    yield f"This is what changed{f' at {house}' if house else ''}, {when}."
    yield f"There {'is one bulletin' if count == 1 else f'are {count} bulletins'}."
    grave = [d.way.text for d in digests if d.kind == "safety"]
    if grave:
        yield f"Those on safety matter most: {_listed(grave)}."
    yield "Local codes win over all of it."
    yield "Work on gas, refrigerant and fixed wiring is for licensed people."


def spoken(digest: Digest) -> Iterator[str]:
    """Yield the sentences to say about one bulletin."""
    yield f"{digest.kind_name}, {digest.group}, number {digest.way.text}."
    yield _ended(digest.way.remark)
    yield f"It applies to {digest.where}."
    if digest.symptoms:
        yield f"What is noticed: {_listed(digest.symptoms)}."
    if digest.codes:
        yield f"The display shows {_listed(digest.codes)}."
    for hazard in digest.hazards:
        yield f"{hazard.word.capitalize()}: {hazard.title.lower()}. {hazard.consequence}"
    yield from sentences(digest.summary)[:_MOST_SENTENCES]
    yield from _checked(digest)
    if digest.keep:
        yield f"Leave in: {_listed([_part(w) for w in digest.keep])}. That is not the cause."
    yield from _ordered(digest.orders, "Order today")
    yield from _ordered(digest.spares, "If a check asks for it, order")
    yield from (_ended(line) for line in digest.due)
    if digest.replaces:
        yield f"It replaces {_listed([way.text for way in digest.replaces])}."


def _checked(digest: Digest) -> Iterator[str]:
    if not digest.first:
        return
    yield f"Check first: {_ended(digest.first.cause)}"
    if digest.first.fix:
        yield f"If so: {_ended(digest.first.fix)}"
    if digest.checks > 1:
        yield f"The bulletin has {digest.checks} checks in their best order."


def _ordered(orders: Sequence[Ordered], lead: str) -> Iterator[str]:
    for each in orders:
        items = [f"{i.quantity} × {_part(Way(i.way.text, '', i.name))}" for i in each.items]
        if not items:
            yield f"Nothing can be ordered for {each.name or each.asked.text}."
            continue
        yield f"{lead}: {(' or ' if each.choose else '; ').join(items)}."
        if each.in_hand:
            yield "Have it in hand before the old one comes out."
        if each.all:
            yield "Replace all of them together, never just one."


def _closing(gone: Sequence[Replaced]) -> Iterator[str]:
    for each in gone:
        if each.by:
            yield f"Do not go by {each.way.text} any more: it is replaced by {each.by.text}."
        else:
            yield f"Do not go by {each.way.text} any more: it is withdrawn."


def _part(way: Way) -> str:
    return f"{way.remark} {way.text}" if way.remark else way.text


def _listed(names: Sequence[str]) -> str:
    """Return names as they are said; of many the first few, and how many more."""
    kept = list(names[:_MOST_NAMED])
    if len(names) > _MOST_NAMED:
        kept.append(f"{len(names) - _MOST_NAMED} more")
    return kept[0] if len(kept) == 1 else f"{', '.join(kept[:-1])} and {kept[-1]}"


def _ended(text: str) -> str:
    text = text.strip()
    return text if text.endswith((".", "!", "?", ":")) else f"{text}."
