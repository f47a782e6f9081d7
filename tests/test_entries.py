"""What a bulletin gives to the search: weights by field, rings, products, codes, part numbers."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.entries import LEVELS, Entry, entry_of, fields_of, level_of, stepped
from kb.house import read_house
from kb.indexing import entries
from kb.records import Bulletin, Check, PartLine
from kb.wording import Wording
from kb.wordtable import load_words, prepare
from tests.conftest import MakeHouse
from tests.search_house import ODD_HOUSE, builtin_wording

WORDING = builtin_wording()
FIELDS = ("title", "symptoms", "component", "product", "checks", "parts", "body")


def made(**more: Any) -> Bulletin:
    """Return a bulletin with some of every field."""
    first: dict[str, Any] = {
        "number": "2026-014",
        "title": "Pump hums",
        "kind": "repair",
        "issued": date(2026, 3, 2),
        "component": ("drain pump",),
        "symptoms": ("water left in the sump", "hums"),
        "checks": (
            Check(cause="ice", test="feel", likelihood=0.5, minutes=5, fix="thaw", parts=("B-2",)),
        ),
        "parts": (PartLine(number="A-1", quantity=1, note="left hand"),),
        "keep": ("C-3",),
        "summary": "Ice holds it.",
        "where": (),
    }
    return Bulletin(**{**first, **more})


def fields(bulletin: Bulletin, body: str = "") -> dict[str, str]:
    """Return the fields of a bulletin of a house that knows two parts by name."""
    return fields_of(bulletin, body, ["dishwasher"], {"A1": "Pump rotor", "B2": "Hose heater"})


def entry(texts: dict[str, str], wording: Wording = WORDING, **more: Any) -> Entry:
    """Return the entry of a bulletin with these texts."""
    whole = {name: texts.get(name, "") for name in FIELDS}
    bare = made(title="", symptoms=(), **more)
    return entry_of(bare, whole, wording, {}, [])


def test_each_field_holds_its_own_lines() -> None:
    assert fields(made(), "Body text.") == {
        "title": "Pump hums",
        "symptoms": "water left in the sump\nhums",
        "component": "drain pump",
        "product": "dishwasher",
        "checks": "ice\nfeel\nthaw",
        "parts": "Hose heater\nPump rotor\nleft hand",
        "body": "Ice holds it.\nBody text.",
    }


def test_parts_without_a_known_name_give_no_name() -> None:
    assert fields(made(parts=(PartLine(number="Z-9", quantity=1),), checks=()))["parts"] == ""


@pytest.mark.parametrize("name", FIELDS)
def test_a_word_weighs_its_count_times_the_field_over_its_length(name: str) -> None:
    """BM25F: w · f / (1 - b + b · length / mean length), as written in kb.entries."""
    field = WORDING.weights["fields"][name]
    for text, count, length in (("pump", 1, 1), ("pump pump hose tap", 2, 4)):
        norm = 1 - field["b"] + field["b"] * length / field["length"]
        weight = stepped(field["weight"] * count / norm)
        assert entry({name: text}).terms["pump"] == weight


def test_weights_of_one_word_in_two_fields_add_up() -> None:
    title, body = entry({"title": "pump"}), entry({"body": "pump"})
    both = entry({"title": "pump", "body": "pump"})
    sum_of_both = title.terms["pump"] + body.terms["pump"]
    assert both.terms["pump"] == pytest.approx(sum_of_both, rel=0.27)


@pytest.mark.parametrize(
    ("weight", "kept"),
    [
        (1.0, 1.0),
        (0.0625, 0.0625),
        (0.001, 0.0625),
        (0.1, 6 / 64),
        (1.1, 1.0),
        (1.13, 81 / 64),
        (15.9375, 16.0),
        (99, 16.0),
    ],
)
def test_a_weight_is_kept_as_one_of_a_few_levels(weight: float, kept: float) -> None:
    assert stepped(weight) == kept


@given(st.floats(0.0625, 16))
def test_a_weight_is_at_most_half_a_step_off(weight: float) -> None:
    """Levels stand a cube root of two apart, but for rounding to 64ths at the low end."""
    step = 2 ** (1 / 3) if weight > 0.5 else 4 / 3
    assert max(stepped(weight) / weight, weight / stepped(weight)) <= step**0.5 * 1.01
    assert (stepped(weight) * 64).is_integer()


def test_levels_rise_and_fit_five_bits() -> None:
    assert list(LEVELS) == sorted(set(LEVELS))
    assert len(LEVELS) <= 32
    assert [level_of(level) for level in LEVELS] == list(range(len(LEVELS)))


def test_a_longer_field_makes_each_word_weigh_less() -> None:
    assert (
        entry({"body": "pump " + "hose " * 400}).terms["pump"]
        < entry({"body": "pump"}).terms["pump"]
    )


def test_ring_phrases_stand_among_the_terms_within_one_line_only() -> None:
    wording = Wording(prepare({**load_words(), "rings": [["door seal", "gasket"]]}))
    assert "~0" in entry({"title": "door seal"}, wording).terms
    assert "~0" in entry({"title": "gasket"}, wording).terms
    assert "~0" not in entry({"symptoms": "door\nseal"}, wording).terms


def test_products_are_terms_by_themselves() -> None:
    terms = entry({"product": "dishwasher\nTarn\nTD45A"}).terms
    assert terms["=dishwasher"] == 1.0
    assert "=washer" not in terms
    assert terms["td45a"] > 0


def test_words_as_written_lead_to_their_form() -> None:
    assert entry({"title": "Pumps hum", "body": "pumping"}).words == {
        "pumps": "pump",
        "hum": "hum",
        "pumping": "pump",
    }


def test_lines_are_title_and_symptoms_with_rings_behind() -> None:
    wording = Wording(prepare({**load_words(), "rings": [["hum", "buzz"], ["sump", "well"]]}))
    texts = dict.fromkeys(FIELDS, "")
    assert entry_of(made(), texts, wording, {}, []).lines == (
        "pump hum ~0",
        "water left sump ~1",
        "hum ~0",
    )


def test_text_keeps_words_in_order_and_lines_apart() -> None:
    assert entry({"title": "Pump hums", "symptoms": "water left\nhums"}).text.startswith(
        "pump hums | water left | hums"
    )


@pytest.mark.parametrize(
    ("place", "number"), [("parts", "A1"), ("checks", "B2"), ("keep", "C3"), ("said", "D4")]
)
def test_a_part_counts_by_where_it_is_named(place: str, number: str) -> None:
    found = entry_of(made(), dict.fromkeys(FIELDS, ""), WORDING, {}, ["D4"])
    assert found.parts[number] == WORDING.weights["part_at"][place]


def test_a_part_named_in_several_places_counts_by_the_best() -> None:
    found = entry_of(made(keep=("A-1",)), dict.fromkeys(FIELDS, ""), WORDING, {}, ["A1"])
    assert found.parts["A1"] == WORDING.weights["part_at"]["parts"]


def test_in_a_bulletin_about_parts_each_counts_more() -> None:
    about = entry_of(made(kind="parts"), dict.fromkeys(FIELDS, ""), WORDING, {}, [])
    shares = WORDING.weights["part_at"]
    assert about.parts["A1"] == shares["parts"] * shares["kind"]


def odd_entries(make_house: MakeHouse) -> dict[str, Entry]:
    """Return the entries of the awkward house by number."""
    house = read_house(make_house({**ODD_HOUSE}))
    texts = {bulletin.number: bulletin.body for bulletin in house.bulletins}
    return {each.number: each for each in entries(house, WORDING, texts)}


def test_only_bulletins_in_force_are_indexed(make_house: MakeHouse) -> None:
    assert odd_entries(make_house).keys() == {
        "2026-014",
        "2026-015",
        "2026-016",
        "2026-017",
        "2026-020",
        "SB-7.12",
    }


def test_codes_are_known_from_the_front_and_found_in_the_body(make_house: MakeHouse) -> None:
    found = odd_entries(make_house)
    assert found["2026-015"].codes == {"SE": "front", "F21": "front"}
    assert found["2026-017"].codes == {"F21": "body"}
    assert found["2026-016"].codes == {"E05": "front"}  # E77 is no bulletin's code


def test_part_numbers_said_in_the_body_are_found(make_house: MakeHouse) -> None:
    shares = WORDING.weights["part_at"]
    assert odd_entries(make_house)["SB-7.12"].parts == {
        "HR3101216": shares["parts"],
        "HR3104120": shares["said"],
    }


def test_models_family_and_product_are_what_people_call_the_machine(
    make_house: MakeHouse,
) -> None:
    found = odd_entries(make_house)
    assert {"cw7a", "cairn", "washer"} <= found["2026-017"].terms.keys()
    assert "cw8a" not in found["2026-017"].terms
    assert {"cw7a", "cw8a", "cw8b"} <= found["2026-015"].terms.keys()
