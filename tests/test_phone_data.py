"""What the phone reads of a house is what the desk reads of it: every posting, card and number.

The desk's store (SQLite) and index (Whoosh) are the oracle: they are written from the same house by
other code. A house with a bulletin of every standing, one with awkward numbers, and the demo.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any

import pytest

from kb.desk import Desk
from kb.folding import fold, nearest
from kb.fulltext import FullText
from kb.lookup import Card, Lookup
from kb.records import Block
from kb.spelling import sound
from kb.standing import in_force
from tests.deskhouse import HOUSE, write_house
from tests.phonedata import TODAY, Carried, carried
from tests.search_house import ODD_HOUSE, demo_copy

HOUSES = ("demo", "odd", "standing")
DAYS_FROM = date(1970, 1, 1)


@dataclass(frozen=True)
class Both:
    """A house at the desk and on the phone."""

    desk: Desk
    phone: Carried

    @property
    def lookup(self) -> Lookup:
        """The desk's store."""
        return self.desk.lookup

    @property
    def index(self) -> FullText:
        """The desk's full-text index."""
        return self.desk.finder._index

    def one(self, *question: Any) -> Any:
        """Return the phone's answer to one question."""
        return self.phone.ask([question])[0]

    def each(self, name: str, given: list[Any]) -> dict[Any, Any]:
        """Return the phone's answers to *name* asked of each value."""
        return dict(zip(given, self.phone.ask([(name, value) for value in given]), strict=True))

    @property
    def part_numbers(self) -> list[str]:
        """Every folded part and kit number."""
        return sorted({fold(number) for number in self.lookup.part_numbers()})

    @property
    def models(self) -> list[str]:
        """Every model of the house."""
        return list(self.lookup.model_names)

    @property
    def numbers(self) -> list[str]:
        """The numbers of the phone's documents in order."""
        bulletins = [b.number for b in self.phone.house.bulletins if b.status != "draft"]
        return sorted(bulletins, key=fold)


@pytest.fixture(scope="module", params=HOUSES)
def both(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Both:
    folder = tmp_path_factory.mktemp(f"both-{request.param}")
    if request.param == "demo":
        house = demo_copy(folder / "bulletins")
    else:
        files = ODD_HOUSE if request.param == "odd" else HOUSE
        house = write_house(folder / "bulletins", files)
    return Both(Desk(house, TODAY), carried(house, folder / "site"))


# Documents and terms


def test_the_count_is_that_of_bulletins_in_force(both: Both) -> None:
    assert both.one("count") == both.index.count == len(in_force(both.phone.house.bulletins))


def test_every_posting_has_the_desks_document_and_weight(both: Both) -> None:
    terms = [str(term, "utf-8") for term in both.index._reader.lexicon("terms")]
    stored = {document: both.index.stored(document).number for document in both.index.documents()}
    found = both.each("postings", terms)
    assert len(terms) > 50
    for term in terms:
        held = {stored[d]: w for d, w in both.index.postings(term).items()}
        numbers = [both.numbers[document] for document in found[term]["docs"]]
        assert numbers == sorted(numbers, key=fold)
        assert dict(zip(numbers, found[term]["weights"], strict=True)) == held, term


def test_a_posting_tells_the_lines_that_its_term_stands_in(both: Both) -> None:
    lines = {
        both.index.stored(document).number: [set(line.split()) for line in stored]
        for document in both.index.documents()
        for stored in [both.index.lines(document)]
    }
    terms = sorted({term for each in lines.values() for line in each for term in line})
    for term, found in both.each("postings", terms).items():
        for document, mask in zip(found["docs"], found["masks"], strict=True):
            own = lines[both.numbers[document]]
            assert mask == sum(1 << at for at, line in enumerate(own) if term in line), term


def test_frequencies_are_the_desks_and_nothing_for_what_no_bulletin_holds(both: Both) -> None:
    terms = ["drain", "pump", "~3", "=washer", "seal", "nosuchword", "", "zzz", "constructor"]
    assert both.each("frequency", terms) == {t: both.index.frequency(t) for t in terms}
    assert both.one("postings", "nosuchword") == {"docs": [], "weights": [], "masks": []}


def test_texts_are_the_desks_for_each_bulletin_in_force(both: Both) -> None:
    texts = {
        both.index.stored(document).number: both.index.text(document)
        for document in both.index.documents()
    }
    found = both.each("text", list(range(len(both.numbers))))
    assert found == {at: texts.get(number, "") for at, number in enumerate(both.numbers)}


# Codes


def test_codes_and_the_bulletins_that_name_them_are_the_desks(both: Both) -> None:
    codes = both.lookup.codes()
    assert dict(both.one("codes")) == codes
    stored = {document: both.index.stored(document).number for document in both.index.documents()}
    for code, found in both.each("codePostings", [*codes, "E999"]).items():
        held = {stored[d]: w for d, w in both.index.postings(code, "codes").items()}
        assert {both.numbers[document]: weight for document, weight in found} == held


# Words


def test_words_that_begin_so_are_the_desks(both: Both) -> None:
    words = list(both.index.words())
    begun = sorted({word[:n] for word in words for n in (1, 2, 3)} | {"zq", "drainx", "~"})
    found = both.each("wordsStarting", begun)
    assert found == {prefix: both.index.words_starting(prefix) for prefix in begun}


def test_the_vocabulary_for_slips_is_the_houses_and_that_of_the_rings(both: Both) -> None:
    house = {w for w in both.index.words() if len(w) > 2 and w.isalpha()}
    meant = sorted(house | both.desk.wording.ring_words)
    assert both.one("vocabulary") == meant
    letters = sorted({word[0] for word in meant})
    by_letter = both.each("vocabularyOf", letters)
    assert [word for letter in letters for word in by_letter[letter]] == meant


def test_words_are_found_by_their_sound(both: Both) -> None:
    heard: dict[str, list[str]] = {}
    for word in both.one("vocabulary"):
        heard.setdefault(sound(word), []).append(word)
    assert both.each("soundsLike", [*heard, "qqqq"]) == {**heard, "qqqq": []}


def test_spellings_are_those_of_the_word_table(both: Both) -> None:
    spelled = both.desk.wording.data["spelled"]
    found = both.each("spelled", [*spelled, "drain", "toString", "", "'"])
    assert found == {**spelled, "drain": None, "toString": None, "": None, "'": None}


def test_ring_phrases_are_kept_where_they_can_lead_anywhere(both: Both) -> None:
    table = both.desk.wording.data["phrases"]
    found = both.each("phrasesFrom", list(table))
    for stem, written in table.items():
        kept = dict(each.split("=") for each in found[stem].split("|") if each)
        whole = dict(each.split("=") for each in written.split("|"))
        assert set(kept) <= set(whole)
        for phrase, rings in whole.items():
            living = [ring for ring in rings.split(",") if both.index.frequency(f"~{ring}")]
            if living or " " in phrase:
                assert kept[phrase].split(",") == (living or rings.split(",")[:1])
            else:
                assert phrase not in kept


def test_near_words_are_kept_where_a_bulletin_holds_them(both: Both) -> None:
    stems = list(both.desk.wording.data["near"])
    for stem, found in both.each("near", stems).items():
        near = both.desk.wording.near(stem)
        pairs = zip(*[iter(found.split())] * 2, strict=True)
        kept = [(other, float(weight)) for other, weight in pairs]
        assert kept == [pair for pair in near if both.index.frequency(pair[0])]


def test_everyday_words_are_told_from_others(both: Both) -> None:
    common = both.desk.wording.common
    asked = [*sorted(common)[::37], "ozonizer", "", "sump"]
    assert both.each("isCommon", asked) == {word: word in common for word in asked}


# Models and plates


def test_families_schemes_and_the_house_itself_are_the_desks(both: Both) -> None:
    families = both.each("familyOf", [f.models[0] for _, f in _with_models(both)])
    for name, family in _with_models(both):
        found = families[family.models[0]]
        assert (found["name"], found["product"]) == (name, family.product)
        assert found["produced"] == _days(family.produced)
        assert [(s["name"], s["used"]) for s in found["schemes"]] == [
            (use.name, _days(use.used)) for use in family.schemes
        ]
    assert [name for name, _ in both.one("families")] == list(both.lookup.families)
    schemes = dict(both.one("schemes"))
    assert list(schemes) == list(both.lookup.schemes)
    for name, scheme in both.lookup.schemes.items():
        assert schemes[name]["codes"] == list(scheme.plants)
        assert schemes[name]["used"] == _days(scheme.used)
        assert schemes[name]["layout"] == scheme.layout.replace(" ", "")
    assert both.one("house") == {k: v for k, v in both.lookup.house.items() if k != "errors"}


def test_models_are_found_by_their_folded_name_and_listed_by_family(both: Both) -> None:
    asked = {fold(model): model for model in both.models} | {"TD": "", "XX1": "", "": ""}
    assert both.each("modelNamed", list(asked)) == asked
    found = both.each("modelsOf", [*both.lookup.families, "None such"])
    wanted = {name: list(f.models) for name, f in both.lookup.families.items()}
    assert found == {**wanted, "None such": []}
    starts = {fold(model)[:2] for model in both.models}
    assert set(both.one("modelStarts")) == starts


def test_what_cannot_be_a_number_fetches_nothing(both: Both) -> None:
    asked = [("modelNamed", "TDRAINS"), ("bulletinNumber", "DRAIN"), ("partNumber", "E21")]
    for answer in both.phone.asked(asked):
        assert answer["value"] == ""
        assert answer["trips"] == answer["bytes"] == 0


def test_the_nearest_model_is_the_desks(both: Both) -> None:
    folded = [fold(model) for model in both.models]
    typed = ["TD45X", "TD4S", "CW", "Q", "TD60", "1D45A", "WC8B"]
    found = both.each("nearestModel", typed)
    assert found == {each: nearest(each, folded) or "" for each in typed}


def test_the_bulletins_for_a_model_are_the_desks_in_its_order(both: Both) -> None:
    for model, found in both.each("cardsFor", both.models).items():
        wanted = both.lookup.cards_for(model)
        assert [card["number"] for card in found] == [card.number for card in wanted]
        for card, held in zip(found, wanted, strict=True):
            assert (card["kind"], card["issued"]) == (held.kind, held.issued)
            assert card["where"] == [_block(block) for block in held.where]
            assert card["age"] == _age(held)
            assert both.numbers[card["doc"]] == held.number
    assert both.one("cardsFor", "No such model") == []


# Cards


def test_cards_are_the_desks_and_drafts_are_nowhere(both: Both) -> None:
    cards = both.each("card", [b.number for b in both.phone.house.bulletins])
    for bulletin in both.phone.house.bulletins:
        held, card = both.lookup.card(bulletin.number), cards[bulletin.number]
        if bulletin.status == "draft":
            assert card is None
            continue
        assert held
        assert card["where"] == [_block(block) for block in held.where]
        assert card["age"] == _age(held)
        assert card["supersededBy"] == held.superseded_by
        for name in ("number", "title", "kind", "status", "issued"):
            assert card[name] == getattr(held, name)
        for name in ("symptoms", "codes", "hazards", "component"):
            assert card[name] == list(getattr(bulletin, name))


def test_a_card_names_the_first_check_of_the_best_order_and_what_to_leave_in(both: Both) -> None:
    rows = both.lookup.listed(
        "SELECT bulletin, coalesce(nullif(test, ''), cause) FROM checks, json_each(?) "
        "WHERE best_position = 0",
        ["once"],
    )
    first = dict(rows)
    names = dict(_part_names(both))
    cards = both.each("card", [b.number for b in both.phone.house.bulletins])
    for bulletin in both.phone.house.bulletins:
        card = cards[bulletin.number]
        if card:
            assert card["first"] == first.get(bulletin.number, "")
            assert card["keep"] == [names.get(fold(n)) or n for n in bulletin.keep]


def test_a_card_has_its_summary_in_short_where_it_has_nothing_better_to_say(both: Both) -> None:
    cards = both.each("card", [b.number for b in both.phone.house.bulletins])
    for number, card in cards.items():
        if card is None:
            continue
        query = "SELECT summary FROM bulletins, json_each(?) WHERE number = value"
        ((whole,),) = both.lookup.listed(query, [number])
        if card["first"] or card["keep"]:
            assert card["summary"] == ""
        elif len(whole) <= 160:
            assert card["summary"] == whole
        else:
            start = card["summary"].removesuffix(" …")
            assert whole.startswith(start) and 100 < len(start) < 160
            assert not whole[len(start) : len(start) + 1].isalnum()


def test_bulletin_numbers_are_found_however_typed_drafts_apart(both: Both) -> None:
    folded = [fold(bulletin.number) for bulletin in both.phone.house.bulletins]
    asked = [*folded, "2099999", "A1", "", "0"]
    found = both.each("bulletinNumber", asked)
    assert found == {number: both.lookup.number_of(number) for number in asked}


# Parts


def test_part_numbers_are_the_desks(both: Both) -> None:
    asked = [*both.part_numbers, "HR0000000", "X", ""]
    assert both.each("partNumber", asked) == {n: both.lookup.part_number(n) for n in asked}
    assert sorted(both.one("partNumbers")) == sorted(both.lookup.part_numbers())


def test_numbers_that_begin_or_end_so_are_the_desks(both: Both) -> None:
    ends = {number[-n:] for number in both.part_numbers for n in (2, 4, 6)}
    begins = {number[:n] for number in both.part_numbers for n in (2, 4, 6)}
    asked = [*sorted(ends | begins)[::3], "HR*", "9999999", ""]
    found = both.phone.ask(("numbersLike", text, 5) for text in asked)
    wanted = [both.lookup.numbers_like(text, 5) for text in asked]
    assert found == [w if text else [] for w, text in zip(wanted, asked, strict=True)]


def test_rows_of_parts_and_kits_are_the_desks_in_the_order_of_the_files(both: Both) -> None:
    folded = both.part_numbers
    rows = [
        {
            "number": row.number, "name": row.name, "component": row.component,
            "status": row.status, "replacedBy": row.replaced_by, "relation": row.relation or "",
            "models": list(row.models), "since": row.since_text, "note": row.note,
        }
        for row in both.lookup.part_rows(folded)
    ]  # fmt: skip
    assert both.one("partRows", folded[::-1]) == rows
    kits = [
        {"kit": row.kit, "number": row.number, "quantity": row.quantity}
        for row in both.lookup.kit_rows(folded)
    ]
    assert both.one("kitRows", folded[::-1]) == kits
    assert both.one("partRows", ["NOSUCH"]) == both.one("kitRows", ["NOSUCH"]) == []


def test_what_an_order_can_lead_to_is_what_the_desk_reaches(both: Both) -> None:
    for number, found in both.each("newerNumbers", both.part_numbers).items():
        assert found[0] == number
        assert sorted(found) == sorted(both.lookup.newer_numbers(number))


def test_tied_numbers_are_the_desks_as_far_as_a_bulletin_names_them(both: Both) -> None:
    named = {str(number, "utf-8") for number in both.index._reader.lexicon("parts")}
    asked = [*both.part_numbers, *sorted(named), "NOSUCH"]
    for number, found in both.each("relatedNumbers", asked).items():
        wanted = {n: s for n, s in both.lookup.related_numbers(number).items() if n in named}
        assert dict(found) == wanted, number


def test_the_bulletins_that_a_part_is_named_in_are_the_desks(both: Both) -> None:
    named = [str(number, "utf-8") for number in both.index._reader.lexicon("parts")]
    stored = {document: both.index.stored(document).number for document in both.index.documents()}
    for number, found in both.each("partPostings", [*named, "NOSUCH"]).items():
        held = {stored[d]: w for d, w in both.index.postings(number, "parts").items()}
        assert {both.numbers[document]: share for document, share in found} == pytest.approx(held)
    asked = [*named, *both.part_numbers]
    each = both.phone.ask(("bulletinsNaming", [number]) for number in asked)
    assert each == [both.lookup.bulletins_naming([number]) for number in asked]
    assert both.one("bulletinsNaming", named) == both.lookup.bulletins_naming(named)


def _with_models(both: Both) -> list[Any]:
    return [(name, family) for name, family in both.lookup.families.items() if family.models]


def _part_names(both: Both) -> list[tuple[str, str]]:
    rows = both.lookup.part_rows(both.part_numbers)
    return [(fold(row.number), row.name) for row in reversed(rows)]


def _day(day: date | None) -> int | None:
    return (day - DAYS_FROM).days if day else None


def _days(days: Any) -> dict[str, int | None]:
    return {"first": _day(days.first), "last": _day(days.last)}


def _age(card: Card) -> dict[str, Any] | None:
    return {"years": card.age.years, "advice": card.age.advice} if card.age else None


def _block(block: Block) -> dict[str, Any]:
    """Return a block as the phone holds it."""
    count = block.revision
    return {
        "families": list(block.families),
        "models": list(block.models),
        "revision": {"low": count.low, "high": count.high} if count else None,
        "built": _days(block.built) if block.built else None,
        "plants": list(block.plants),
        "serials": [{"first": each.first, "last": each.last} for each in block.serials],
        "butNot": [_block(each) for each in block.but_not],
    }
