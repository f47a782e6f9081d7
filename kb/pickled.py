"""Frozen records that are pickled and read back quickly: a large house holds a million of them.

What dataclasses do of themselves for frozen records with slots looks up every field by name, at
both ends; here a record is the class and the values of its fields in order.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import fields
from operator import attrgetter
from typing import Any, TypeVar

_T = TypeVar("_T")

# What sets each field of a class: frozen only forbids it by the usual way.
_PUTS: dict[type[Any], tuple[Callable[[Any, Any], None], ...]] = {}


def pickled_by_values(cls: type[_T]) -> type[_T]:
    """Let the instances of a frozen dataclass with slots be pickled as the values of its fields."""
    names = [field.name for field in fields(cls)]  # type: ignore[arg-type]
    _PUTS[cls] = tuple(getattr(cls, name).__set__ for name in names)
    values = attrgetter(*names)

    def reduce(self: _T) -> tuple[Callable[..., Any], tuple[type[_T], Sequence[Any]]]:
        return _made, (cls, values(self))

    cls.__reduce__ = reduce  # type: ignore[assignment, method-assign]
    return cls


def _made(cls: type[Any], values: Sequence[Any]) -> Any:
    made = object.__new__(cls)
    for put, value in zip(_PUTS[cls], values, strict=True):
        put(made, value)
    return made
