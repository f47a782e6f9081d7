"""The desk: one house made ready to answer, brought up to date by itself when it has changed."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from datetime import date
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING

from kb import derived
from kb.lookup import Lookup

if TYPE_CHECKING:
    from kb.finding import Finder
    from kb.records import House

Say = Callable[[str], None]


class Desk:
    """Answers for one house on one day. *say* is told when the store has to be renewed."""

    def __init__(self, house: Path, today: date, say: Say = lambda text: None) -> None:
        self.today = today
        self._edition = _ready(house, say)
        self.lookup = Lookup(self._edition.store)

    @cached_property
    def finder(self) -> Finder:
        """The search; loaded only when asked, for what a plate needs is less."""
        from kb.finding import Finder
        from kb.fulltext import FullText
        from kb.wording import Wording

        wording = Wording(json.loads(self._edition.words.read_text(encoding="utf-8")))
        return Finder(self.lookup, FullText(self._edition.index), wording, self.today)


def _ready(house: Path, say: Say) -> derived.Edition:
    edition, looks = derived.current(house), derived.look(house)
    if edition and derived.is_fresh(edition, looks):
        return edition
    say(
        "The bulletins have changed: bringing the store up to date."
        if edition
        else "First question to this house: reading its bulletins."
    )
    from kb.house import read_house

    return renew(house, read_house(house), looks)


def renew(folder: Path, house: House, looks: str) -> derived.Edition:
    """Write store and index of *house* as a new edition and return it.

    What could not be read is left out here; `kb proof` tells of it.
    """
    from kb import fulltext, indexing, store
    from kb.wording import Wording
    from kb.wordtable import load_words, prepare

    edition = derived.begin(folder)
    texts, summaries = _bodies(house)
    store.write(edition.store, house, summaries)
    table = prepare(load_words(), house.words)
    edition.words.write_text(json.dumps(table, ensure_ascii=False), encoding="utf-8")
    fulltext.build(edition.index, indexing.entries(house, Wording(table), texts))
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
