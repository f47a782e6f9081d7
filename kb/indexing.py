"""From the bulletins of a house to the entries of its search index."""

from __future__ import annotations

from collections.abc import Container, Hashable, Iterator, Mapping
from dataclasses import dataclass, field
from itertools import chain

from kb.entries import Entry, entry_of, fields_of
from kb.folding import fold
from kb.records import Bulletin, Family, House
from kb.scope import families_of, models_of
from kb.standing import in_force
from kb.wording import Wording


@dataclass(frozen=True, slots=True)
class Surroundings:
    """What a bulletin's entry depends on beside the bulletin itself.

    *names* are the names of parts and *codes* the codes that bulletins in force give, both by
    folded number.
    """

    wording: Wording
    families: Mapping[str, Family]
    names: Mapping[str, str]
    codes: Container[str]
    _products: dict[Hashable, list[str]] = field(default_factory=dict)

    def entry(self, bulletin: Bulletin, body: str) -> Entry:
        """Return the entry of a bulletin; *body* is the plain text of its body."""
        fields = fields_of(bulletin, body, self._product_words(bulletin), self.names)
        tokens = sorted(self.wording.numbers(chain((bulletin.title, body), bulletin.symptoms)))
        codes = dict.fromkeys((token for token in tokens if token in self.codes), "body")
        codes.update(dict.fromkeys((fold(code) for code in bulletin.codes), "front"))
        said = [token for token in tokens if token in self.names]
        return entry_of(bulletin, fields, self.wording, codes, said)

    def _product_words(self, bulletin: Bulletin) -> list[str]:
        """Return product, family and model names: what people call what a bulletin is about."""
        meant = tuple((block.families, block.models) for block in bulletin.where)
        if meant not in self._products:
            families = families_of(bulletin.where, self.families)
            words = [word for family in families for word in (family.product, family.name)]
            models = models_of(bulletin.where, self.families)
            self._products[meant] = list(dict.fromkeys([*words, *models]))
        return self._products[meant]


def entries(house: House, wording: Wording, texts: Mapping[str, str]) -> Iterator[Entry]:
    """Yield the entry of each bulletin in force; *texts* gives each body's plain text by number.

    They come by number, as everywhere: of two that fit alike the lower number stands first.
    """
    standing = sorted(in_force(house.bulletins), key=lambda b: (fold(b.number), b.number))
    around = Surroundings(
        wording=wording,
        families=house.families,
        names={fold(row.number): row.name for row in house.parts},
        codes={fold(code) for bulletin in standing for code in bulletin.codes},
    )
    for bulletin in standing:
        yield around.entry(bulletin, texts[bulletin.number])
