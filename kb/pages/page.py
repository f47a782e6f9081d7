"""What the site is made of: pages, which a template shows, and assets, which are copied."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, NamedTuple
from urllib.parse import quote

_KEPT = 16384  # addresses that are remembered: those of models and components stand on many pages


@dataclass(frozen=True, slots=True)
class Page:
    """One file to write: its *path* below the site, the template, and what the template shows."""

    path: str
    template: str
    data: Mapping[str, Any]

    @property
    def root(self) -> str:
        """The way from this page up to the site's own folder: "", "../", "../../" …"""
        return "../" * self.path.count("/")


class Unit(NamedTuple):
    """Pages that are made together, under a name that no other unit of the site has."""

    name: str
    make: Callable[[], Iterator[Page | Asset]]


class Group(NamedTuple):
    """Units of one kind, in order; which there are depends on the facts *told_by* and no others.

    *units* lists them anew each time: they are too many to be kept.
    """

    name: str
    told_by: frozenset[str]
    units: Callable[[], Iterable[Unit]]


class Asset(NamedTuple):
    """One file of the site that is no page: style sheet, icon, picture."""

    path: str
    content: bytes


class Way(NamedTuple):
    """A link inside the site: its words, the address below the site, and a short remark."""

    text: str
    href: str
    remark: str = ""


@lru_cache(maxsize=_KEPT)
def address(*steps: str) -> str:
    """Return the address below the site of the page in these folders, escaped for a link.

    The file is named, so that the site can be read from a disk as well as from a host.

    >>> address("components", "drain-pump")
    'components/drain-pump/index.html'
    """
    return "/".join(quote(step, safe="") for step in (*steps, "index.html"))


def file_of(*steps: str) -> str:
    """Return the path of the file that a page in these folders is written to."""
    return "/".join((*steps, "index.html"))
