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


class Desk:
    """Answers for one house on one day. *say* is told when the store has to be renewed.

    A store or an index that is broken or gone is made anew, once; KbError where that does not help.
    """

    def __init__(self, house: Path, today: date, say: Say = lambda text: None) -> None:
        self.today = today
        self._house = house
        self._say = say
        self._edition = _ready(house, say)
        try:
            self.lookup = Lookup(self._edition.store)
        except KbError:
            self._open_anew()

    def _open_anew(self) -> None:
        self._edition = _ready(self._house, self._say, unusable=self._edition)
        self.lookup = Lookup(self._edition.store)
        self.__dict__.pop("wording", None)  # it belongs to the edition

    @cached_property
    def finder(self) -> Finder:
        """The search; loaded only when asked, for what a plate needs is less."""
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
    edition, looks = derived.current(house), derived.look(house)
    if edition and edition != unusable and derived.is_fresh(edition, looks):
        return edition
    if edition is None:
        say("First question to this house: reading its bulletins.")
    elif edition == unusable:
        say("The store is broken: making it anew.")
    else:
        say("The bulletins have changed: bringing the store up to date.")
    from kb.house import read_house

    return renew(house, read_house(house), looks)


def renew(folder: Path, house: House, looks: str) -> derived.Edition:
    """Write store and index of *house* as a new edition and return it.

    What could not be read is left out here; `kb proof` tells of it.
    """
    from kb import fulltext, indexing, store
    from kb.wording import Wording
    from kb.wordtable import load_words, prepare, stem_list

    edition = derived.begin(folder)
    texts, summaries = _bodies(house)
    store.write(edition.store, house, summaries)
    table = prepare(load_words(), house.words)
    entries = list(indexing.entries(house, Wording(table), texts))
    # A question in the house's own words then needs no word-form library.
    spoken = {word: stem for entry in entries for word, stem in entry.words.items()}
    table["stems"] += " " + stem_list(spoken)
    edition.words.write_text(json.dumps(table, ensure_ascii=False), encoding="utf-8")
    fulltext.build(edition.index, entries)
    derived.finish(folder, edition, looks)
    return edition


def _bodies(house: House) -> tuple[Mapping[str, str], dict[str, str]]:
    """Return the plain text and the summary of each bulletin, by number."""
    from kb import markup

    texts, summaries = {}, {}
    for bulletin in house.bulletins:
        body = markup.read(bulletin.body, bulletin.body_line)
        texts[bulletin.number] = body.text
        summaries[bulletin.number] = bulletin.summary or body.first_paragraph
    return texts, summaries
