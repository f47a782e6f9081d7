"""From the bulletins of a house to the entries of its search index."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from kb.entries import Entry, entry_of, fields_of
from kb.folding import fold
from kb.records import Bulletin, House
from kb.scope import families_of, models_of
from kb.standing import in_force
from kb.wording import Wording, plain, raw_tokens


def entries(house: House, wording: Wording, texts: Mapping[str, str]) -> Iterator[Entry]:
    """Yield the entry of each bulletin in force; *texts* gives each body's plain text by number.

    They come by number, as everywhere: of two that fit alike the lower number stands first.
    """
    standing = sorted(in_force(house.bulletins), key=lambda b: (fold(b.number), b.number))
    names = {fold(row.number): row.name for row in house.parts}
    known = {fold(code) for bulletin in standing for code in bulletin.codes}
    for bulletin in standing:
        body = texts[bulletin.number]
        fields = fields_of(bulletin, body, _product_words(bulletin, house), names)
        tokens = _numbers_in(bulletin, body)
        codes = dict.fromkeys(sorted(tokens & known), "body")
        codes.update(dict.fromkeys((fold(code) for code in bulletin.codes), "front"))
        yield entry_of(bulletin, fields, wording, codes, sorted(tokens & names.keys()))


def _product_words(bulletin: Bulletin, house: House) -> list[str]:
    """Return product, family and model names: what people call the machine a bulletin is about."""
    families = families_of(bulletin.where, house.families)
    words = [word for family in families for word in (family.product, family.name)]
    return list(dict.fromkeys([*words, *models_of(bulletin.where, house.families)]))


def _numbers_in(bulletin: Bulletin, body: str) -> set[str]:
    """Return whatever in a bulletin's text can be a number or a code, folded."""
    written = [plain(text) for text in (bulletin.title, *bulletin.symptoms, body)]
    tokens = (token for text in written for token in raw_tokens(text))
    return {fold(token) for token in tokens if any(c.isdigit() for c in token)}
