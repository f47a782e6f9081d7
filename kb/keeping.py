"""What bulletins say to leave in: numbers, or names of parts or components, as folded numbers."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from kb.folding import fold, fold_name
from kb.jobs import Job
from kb.lookup import Lookup

_BY_NAME = """
    SELECT number, name, component FROM parts
     WHERE lower(name) IN (SELECT value FROM json_each(?1))
        OR lower(component) IN (SELECT value FROM json_each(?1)) ORDER BY row"""


def kept_numbers(lookup: Lookup, work: Sequence[Job]) -> dict[str, str]:
    """Return each folded part number that is to be left in, with the first bulletin that says so.

    An entry under ``keep`` is a part number, else the name of a part, else a component, which
    stands for all its parts but those that the same bulletin itself may ask for.
    """
    names = {fold_name(entry) for job in work for entry in job.keep}
    rows = lookup.listed(_BY_NAME, sorted(names))
    found: dict[str, str] = {}
    for job in work:
        for entry in job.keep:
            for number in _meant(lookup, entry, job, rows):
                found.setdefault(number, job.number)
    return found


def _meant(lookup: Lookup, entry: str, job: Job, rows: Iterable[tuple[str, str, str]]) -> list[str]:
    if lookup.part_number(fold(entry)):
        return [fold(entry)]
    name = fold_name(entry)
    named = [fold(number) for number, title, _ in rows if fold_name(title) == name]
    if named:
        return named
    own: set[str] = set().union(*(lookup.newer_numbers(number) for number in job.numbers))
    of_component = [fold(number) for number, _, component in rows if fold_name(component) == name]
    return [number for number in of_component if not lookup.newer_numbers(number) & own]
