"""The desk: one house made ready to answer, brought up to date by itself when it has changed."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from datetime import date
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING

from kb import derived
from kb.errors import KbError
from kb.lookup import Lookup

if TYPE_CHECKING:
    from kb.finding import Finder
    from kb.records import House
    from kb.wording import Wording

Say = Callable[[str], None]
_TRIES = 2


class Desk:
    """Answers for one house on one day. *say* is told when the store has to be renewed.

    A store or an index that is broken or gone is made anew; one that a writer cleared away while it
    was being opened gives way to the newer one. KbError where that does not help.
    """

    lookup: Lookup

    def __init__(self, house: Path, today: date, say: Say = lambda text: None) -> None:
        self.today = today
        self._house = house
        self._say = say
        self._edition = _ready(house, say)
        for _ in range(_TRIES):
            try:
                self.lookup = Lookup(self._edition.store)
                return
            except KbError:
                self._edition = _ready(house, say, unusable=self._edition)
        self.lookup = Lookup(self._edition.store)

    def _open_anew(self) -> None:
        self._edition = _ready(self._house, self._say, unusable=self._edition)
        self.lookup.close()
        self.lookup = Lookup(self._edition.store)
        self.__dict__.pop("wording", None)  # it belongs to the edition

    @cached_property
    def finder(self) -> Finder:
        """The search; loaded only when asked, for what a plate needs is less."""
        for _ in range(_TRIES):
            try:
                return self._open_finder()
            except (KbError, OSError, ValueError):
                self._open_anew()
        return self._open_finder()

    def _open_finder(self) -> Finder:
        from kb.finding import Finder
        from kb.fulltext import FullText

        return Finder(self.lookup, FullText(self._edition.index), self.wording, self.today)

    @cached_property
    def wording(self) -> Wording:
        """The words as they were prepared for this edition, with weights and thresholds."""
        from kb.wording import Wording

        return Wording(json.loads(self._edition.words.read_text(encoding="utf-8")))


def _ready(house: Path, say: Say, unusable: derived.Edition | None = None) -> derived.Edition:
    """Return a fresh edition other than the *unusable* one, made now if need be."""
    found = derived.fresh(house, derived.look(house))
    if found and found != unusable:
        return found
    from kb import editions

    with editions.writing(house, lambda: say("Another kb is at this house's store: waiting.")):
        looks = derived.look(house)  # it may have taken long to get here
        found = derived.fresh(house, looks)
        if found and found != unusable:
            return found
        say(_why_renewed(derived.current(house), unusable))
        from kb.house import read_house

        return _write(house, read_house(house), looks)


def _why_renewed(edition: derived.Edition | None, unusable: derived.Edition | None) -> str:
    if unusable and edition in (unusable, None):
        return "The store is broken: making it anew."
    if edition is None:
        return "First question to this house: reading its bulletins."
    return "The bulletins have changed: bringing the store up to date."


def renew(folder: Path, house: House, looks: bytes) -> derived.Edition:
    """Return a fresh edition of *house*, which lies in *folder* and looked like *looks* before.

    What could not be read is left out here; `kb proof` tells of it.
    """
    from kb import editions

    with editions.writing(folder):
        return derived.fresh(folder, looks) or _write(folder, house, looks)


def _write(folder: Path, house: House, looks: bytes) -> derived.Edition:
    """Write store and index of *house* as a new edition; nothing is left of it where that fails."""
    from kb import editions

    edition = editions.begin(folder)
    try:
        _fill(edition, house)
        editions.finish(edition, looks)
    except OSError as error:
        editions.discard(edition)
        raise KbError(
            f"the store cannot be written: {error.strerror or error}",
            f"see who may write in {edition.folder.parent} and whether its disk is full",
        ) from error
    except BaseException:
        editions.discard(edition)
        raise
    return edition


def _fill(edition: derived.Edition, house: House) -> None:
    from kb import fulltext, indexing, store
    from kb.wording import Wording
    from kb.wordtable import load_words, prepare, stem_list

    texts, summaries = _bodies(house)
    store.write(edition.store, house, summaries)
    table = prepare(load_words(), house.words)
    entries = list(indexing.entries(house, Wording(table), texts))
    # A question in the house's own words then needs no word-form library.
    spoken = {word: stem for entry in entries for word, stem in entry.words.items()}
    table["stems"] += " " + stem_list(spoken)
    edition.words.write_text(json.dumps(table, ensure_ascii=False), encoding="utf-8")
    fulltext.build(edition.index, entries)


def _bodies(house: House) -> tuple[Mapping[str, str], dict[str, str]]:
    """Return the plain text and the summary of each bulletin, by number."""
    from kb import markup

    texts, summaries = {}, {}
    for bulletin in house.bulletins:
        body = markup.read(bulletin.body, bulletin.body_line)
        texts[bulletin.number] = body.text
        summaries[bulletin.number] = bulletin.summary or body.first_paragraph
    return texts, summaries
