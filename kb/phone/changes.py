"""What can have changed in a house since it was last written for the phone."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import NamedTuple

from kb.phone.gathered import order_of
from kb.phone.kept import Superseding
from kb.records import Bulletin, PartRow


class Told(NamedTuple):
    """A bulletin with what its body says: its plain *text* and its *first_paragraph*."""

    bulletin: Bulletin
    text: str
    first_paragraph: str

    @property
    def summary(self) -> str:
        """Its summary, the first paragraph where none is given."""
        return self.bulletin.summary or self.first_paragraph


class Change(NamedTuple):
    """A bulletin as it was and as it is; None where there was or is none."""

    before: Told | None
    after: Told | None


class RowChange(NamedTuple):
    """The row of parts.csv at a *place* from 0, as it was and as it is."""

    place: int
    before: PartRow
    after: PartRow


class Beyond(Exception):
    """What changed moves so much that only a whole new write is right."""


def published(changes: Sequence[Change]) -> dict[str, Change]:
    """Return the changes to bulletins that have a page, by number."""
    found: dict[str, Change] = {}
    for change in changes:
        before, after = (
            None if each is None or each.bulletin.status == "draft" else each for each in change
        )
        numbers = {each.bulletin.number for each in (before, after) if each}
        if len(numbers) > 1:
            raise Beyond
        for number in numbers:
            found[number] = Change(before, after)
    return found


def numbers_after(before: Sequence[str], changes: Mapping[str, Change]) -> list[str]:
    """Return the documents' numbers; what came or went must be the last of them."""
    gone = [n for n, change in changes.items() if change.after is None]
    come = [n for n, change in changes.items() if change.before is None]
    kept = list(before[: len(before) - len(gone)])
    if set(before[len(kept) :]) != set(gone) or (gone and come):
        raise Beyond
    found = kept + sorted(come, key=order_of)
    if come and kept and order_of(kept[-1]) > order_of(found[len(kept)]):
        raise Beyond
    return found


def superseding_after(
    before: Sequence[Superseding], changes: Mapping[str, Change]
) -> list[Superseding]:
    """Return the bulletins that supersede others, as they are now."""
    found = [each for each in before if each.number not in changes]
    for change in changes.values():
        if change.after and change.after.bulletin.supersedes:
            b = change.after.bulletin
            found.append(Superseding(b.number, b.issued, b.status, b.supersedes))
    return found
