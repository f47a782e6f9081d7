"""A unit from what stands on its rating plate: the model with its revision, and the serial."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date
from functools import lru_cache
from typing import Protocol

from kb.errors import NotFound
from kb.folding import fold, nearest
from kb.records import Family, Scheme, Unit
from kb.serials import SerialError, read_serial, uses_of


class Reference(Protocol):
    """What of a house is needed to read rating plates."""

    @property
    def families(self) -> Mapping[str, Family]:
        """The families by name."""

    @property
    def schemes(self) -> Mapping[str, Scheme]:
        """The serial schemes by name."""


@lru_cache(maxsize=64)
def _by_folded(models: tuple[str, ...]) -> dict[str, str]:
    return {fold(model): model for model in models}


def _revision(rest: str) -> int | None:
    """Return the number behind a model (`3`, `/3`), or None where the rest is no revision.

    A revision has two digits at most: more of them are the beginning of something else.
    """
    digits = rest.removeprefix("/")
    return int(digits) if digits.isascii() and digits.isdigit() and len(digits) < 3 else None


def known_model(text: str, models: Iterable[str]) -> tuple[str, int | None] | None:
    """Return the known model that *text* names and the revision behind it, if any.

    An exact name wins; else the longest known name that *text* starts with, where the rest is
    digits.
    """
    known = _by_folded(tuple(models))
    asked = fold(text)
    if asked in known:
        return known[asked], None
    for end in range(len(asked) - 1, 0, -1):
        revision = _revision(asked[end:])
        if asked[:end] in known and revision is not None:
            return known[asked[:end]], revision
    return None


def split_model(text: str, models: Iterable[str]) -> tuple[str, int | None]:
    """Return what ``known_model`` does; NotFound names the nearest model."""
    every = tuple(models)
    found = known_model(text, every)
    if found:
        return found
    known, asked = _by_folded(every), fold(text)
    near = nearest(asked, known) or nearest(asked.rstrip("0123456789/"), known)
    remedy = (
        f"did you mean {known[near]}?" if near else "check the model number on the rating plate"
    )
    raise NotFound(f"no model {text.strip()} is known" if asked else "no model is given", remedy)


def family_of(house: Reference, model: str) -> Family:
    """Return the family of a model named as in families.yaml; NotFound where there is none."""
    for family in house.families.values():
        if model in family.models:
            return family
    raise NotFound(f"no model {model} is known", "add it to its family in families.yaml")


def make_unit(house: Reference, model: str, serial: str | None, today: date) -> Unit:
    """Return the unit that a rating plate names; NotFound where the model is not known.

    A serial that cannot be read leaves *readings* empty and says why in *unreadable*.
    """
    families = house.families.values()
    name, revision = split_model(model, (m for family in families for m in family.models))
    family = family_of(house, name)
    typed = (serial or "").strip()
    if not fold(typed):
        return Unit(model=name, family=family, revision=revision)
    try:
        readings = read_serial(typed, uses_of(family, house.schemes), today)
    except SerialError as error:
        why = f"{error.message}; {error.remedy}"
        return Unit(model=name, family=family, revision=revision, serial=typed, unreadable=why)
    return Unit(model=name, family=family, revision=revision, serial=typed, readings=readings)
