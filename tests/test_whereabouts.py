"""Where a bulletin applies: each condition in each form, and what is said about a wrong one."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.dates import Days, parse_days
from kb.faults import Faults
from kb.fields import Fields, Unfit, known_keys
from kb.records import Block, Count, SerialRange
from kb.whereabouts import CONDITIONS, WHERE_KEYS, serial_range, where_of
from kb.yamlrepair import read_keys

FAMILIES = {"tarn": "Tarn", "cairn": "Cairn", "high tarn": "High Tarn"}
KEYS = known_keys(*WHERE_KEYS, "applies", needed=WHERE_KEYS)


def read(text: str) -> tuple[tuple[Block, ...], list[tuple[int, str]]]:
    faults = Faults("a.md")
    fields = Fields(read_keys(text, faults), faults, KEYS)
    found = where_of(fields, FAMILIES)
    return found, [(problem.line, problem.rule) for problem in faults.problems]


def block(text: str) -> Block:
    """Return the one block of sound keys."""
    found, problems = read(text)
    assert not problems and len(found) == 1, problems
    return found[0]


def words(text: str) -> tuple[str, str]:
    faults = Faults("a.md")
    where_of(Fields(read_keys(text, faults), faults, KEYS), FAMILIES)
    (problem,) = faults.problems
    return problem.message, problem.remedy


def forms(*items: str) -> list[str]:
    """Return a list of texts in each form that YAML has for it."""
    quotes = [f'"{item}"' for item in items]
    found = [
        f" [{', '.join(items)}]",
        f" [{', '.join(quotes)}]",
        f" [ {' , '.join(items)}, ]",
        " [\n    " + ",\n    ".join(items) + "]",
        "".join(f"\n  - {item}" for item in items),
        "".join(f"\n- '{item}'" for item in items),
        "".join(f"\n\n  - {item}   # why" for item in items),
    ]
    return (
        found if len(items) > 1 else [f" {items[0]}", f' "{items[0]}"', f"\n  {items[0]}", *found]
    )


@pytest.mark.parametrize("form", forms("Tarn"))
def test_one_family_in_every_form(form: str) -> None:
    assert block(f"family:{form}\n") == Block(families=("Tarn",))


@pytest.mark.parametrize("form", forms("Tarn", "Cairn"))
def test_several_families_in_every_form(form: str) -> None:
    assert block(f"family:{form}\n") == Block(families=("Tarn", "Cairn"))


@pytest.mark.parametrize(
    ("typed", "name"),
    [
        ("tarn", "Tarn"),
        ("TARN", "Tarn"),
        ("high  tarn", "High Tarn"),
        ("High Tarn", "High Tarn"),
        ("Scree", "Scree"),
        ("T\u00e4rn", "T\u00e4rn"),
    ],
)
def test_a_family_is_named_as_in_its_table(typed: str, name: str) -> None:
    assert block(f"family: {typed}\n").families == (name,)


@pytest.mark.parametrize("form", forms("TD45A", "td-60?", "T*", "CW 8*"))
def test_models_are_patterns_as_typed(form: str) -> None:
    assert block(f"models:{form}\n") == Block(models=("TD45A", "td-60?", "T*", "CW 8*"))


@pytest.mark.parametrize(
    "pattern", ["TD45/2", "TD45(A)", "TD45+", "0123", "T.D-45", "\u00c424", "?"]
)
def test_a_model_bears_whatever_signs_its_plate_bears(pattern: str) -> None:
    assert block(f'models: ["{pattern}"]\n').models == (pattern,)


@pytest.mark.parametrize("pattern", ["TD45*, TD60*", "TD45A;TD45B", "TD45A|TD45B"])
def test_several_models_in_one_text_are_told_to_be_a_list(pattern: str) -> None:
    assert read(f"family: Tarn\nmodels: {pattern}\n") == ((), [(2, "bad-value")])
    parts = pattern.replace(";", ",").replace("|", ",").split(",")
    listed = ", ".join(part.strip() for part in parts)
    assert words(f"models: {pattern}\n") == (
        f"“{pattern}” is no model number",
        f"write several as a list: [{listed}]",
    )


@pytest.mark.parametrize("pattern", ["'-'", "' . '", "'" + "x" * 61 + "'", "',A'"])
def test_what_is_no_model_is_told_at_its_item(pattern: str) -> None:
    text = f"models:\n  - TD45A\n  - {pattern}\n"
    assert read(text) == ((), [(3, "bad-value")])
    assert "* for any signs and ? for any one" in words(text)[1]


@pytest.mark.parametrize(
    ("typed", "revision"),
    [
        ("2", Count(2, 2)),
        ("02", Count(2, 2)),
        ("'2'", Count(2, 2)),
        ("0", Count(0, 0)),
        ("2..", Count(2, None)),
        ("..3", Count(None, 3)),
        ("2..4", Count(2, 4)),
        ('"2..4"', Count(2, 4)),
        ("2 .. 4", Count(2, 4)),
        ("2..2", Count(2, 2)),
        ("2.. # and later", Count(2, None)),
        ("\n  2..4", Count(2, 4)),
    ],
)
def test_a_revision_is_a_range_of_whole_numbers(typed: str, revision: Count) -> None:
    assert block(f"family: Tarn\nrevision: {typed}\n").revision == revision


@pytest.mark.parametrize(
    ("typed", "first", "last"),
    [
        ("2024", "2024-01-01", "2024-12-31"),
        ("2024-03", "2024-03-01", "2024-03-31"),
        ("2024-02", "2024-02-01", "2024-02-29"),
        ("2024-W10", "2024-03-04", "2024-03-10"),
        ("2024-w10", "2024-03-04", "2024-03-10"),
        ("2024-03-04", "2024-03-04", "2024-03-04"),
        ("'2024-03-04'", "2024-03-04", "2024-03-04"),
        ("2024-W10..2025-W22", "2024-03-04", "2025-06-01"),
        ('"2024-W10..2025-W22"', "2024-03-04", "2025-06-01"),
        ("2024-W10 .. 2025-W22", "2024-03-04", "2025-06-01"),
        ("2024..2025-03", "2024-01-01", "2025-03-31"),
        ("2024-03-04..2024-03", "2024-03-04", "2024-03-31"),
        ("2020-W53..2020-W53", "2020-12-28", "2021-01-03"),
        ("2024-03.. # still so", "2024-03-01", None),
        ("..2024", None, "2024-12-31"),
        (">\n  2024-03\n", "2024-03-01", "2024-03-31"),
    ],
)
def test_built_is_a_range_of_dates_with_both_ends(
    typed: str, first: str | None, last: str | None
) -> None:
    """Weeks of ISO 8601: 2024-W10 is 4 to 10 March 2024, 2020 has 53 weeks."""
    built = block(f"family: Tarn\nbuilt: {typed}\n").built
    assert built is not None
    ends = [day.isoformat() if day else None for day in (built.first, built.last)]
    assert ends == [first, last]


@pytest.mark.parametrize("form", forms("k"))
def test_one_plant_in_every_form(form: str) -> None:
    assert block(f"family: Tarn\nplant:{form}\n").plants == ("K",)


@pytest.mark.parametrize("form", forms("K", "l", "0", "no"))
def test_several_plants_in_every_form(form: str) -> None:
    assert block(f"family: Tarn\nplant:{form}\n").plants == ("K", "L", "0", "NO")


def test_a_plant_code_compares_without_hyphens_as_it_does_in_a_serial() -> None:
    assert block("family: Tarn\nplant: [k-1, K 2]\n").plants == ("K1", "K2")


@pytest.mark.parametrize("form", forms("KP1400031..KP1400090", "K P 15 00001", "k-p-16 .. k-p-17"))
def test_serials_are_ranges_or_single_ones_as_typed(form: str) -> None:
    assert block(f"serials:{form}\n").serials == (
        SerialRange("KP1400031", "KP1400090"),
        SerialRange("K P 15 00001", "K P 15 00001"),
        SerialRange("k-p-16", "k-p-17"),
    )


@pytest.mark.parametrize(
    ("text", "first", "last"),
    [
        ("KP1400031", "KP1400031", "KP1400031"),
        ("1400031..1400090", "1400031", "1400090"),
        ("0001..0002", "0001", "0002"),
        ("K\u2013P\u201114", "K\u2013P\u201114", "K\u2013P\u201114"),
        ("KP.14.31..KP.14.32", "KP.14.31", "KP.14.32"),
        ("KP/14/31", "KP/14/31", "KP/14/31"),
        ("A" * 60, "A" * 60, "A" * 60),
    ],
)
def test_a_range_of_serials_keeps_its_ends_as_typed(text: str, first: str, last: str) -> None:
    assert serial_range(text) == SerialRange(first, last)


@pytest.mark.parametrize(
    ("text", "remedy"),
    [
        ("KP1400031..", "write whole serials, both ends included: KP1400031..KP1400090"),
        ("..KP1400090", "write whole serials, both ends included: KP1400031..KP1400090"),
        ("..", "write whole serials"),
        ("A..B..C", "write whole serials"),
        ("KP14*", "write whole serials"),
        ("-", "write whole serials"),
        ("A" * 61, "write whole serials"),
        ("KP1400031, KP1400032", "write several as a list: [KP1400031, KP1400032]"),
        ("KP1400031;KP1400032", "write several as a list: [KP1400031, KP1400032]"),
    ],
)
def test_what_is_no_range_of_serials_is_refused(text: str, remedy: str) -> None:
    with pytest.raises(Unfit) as trouble:
        serial_range(text)
    assert remedy in trouble.value.remedy
    assert "is no serial and no range of serials" in str(trouble.value)


def test_a_wrong_serial_is_told_at_its_item() -> None:
    assert read("serials:\n  - KP1400031\n  - KP14*\n  - ..KP15\n") == (
        (),
        [(3, "bad-value"), (4, "bad-value")],
    )


EXCEPT_K = Block(families=("Tarn",), but_not=(Block(plants=("K",)),))
EXCEPT_BOTH = Block(
    families=("Tarn",), but_not=(Block(plants=("K",)), Block(built=parse_days("2024")))
)


@pytest.mark.parametrize(
    "form", [" {plant: K}", "\n  plant: K", "\n  plant: [K]", " [{plant: K}]", "\n  - plant: K"]
)
def test_an_exception_is_a_block_or_a_list_of_one(form: str) -> None:
    assert block(f"family: Tarn\nexcept:{form}\n") == EXCEPT_K
    assert block(f"except:{form}\nfamily: Tarn\n") == EXCEPT_K


@pytest.mark.parametrize(
    "form",
    [
        " [{plant: K}, {built: 2024}]",
        "\n  - plant: K\n  - built: 2024",
        "\n- {plant: K}\n-\n  built: 2024",
        "\n  -\n    plant: K\n  # then\n  - built: '2024'",
    ],
)
def test_several_exceptions_are_alternatives(form: str) -> None:
    assert block(f"family: Tarn\nexcept:{form}\n") == EXCEPT_BOTH


def test_an_exception_may_take_every_condition() -> None:
    text = (
        "models: [T*]\nexcept:\n  family: tarn\n  models: TD45A\n  revision: ..1\n"
        "  built: ..2019\n  plant: l\n  serials: LA1..LA2\n  x-why: a trial\n"
    )
    assert block(text).but_not == (
        Block(
            families=("Tarn",),
            models=("TD45A",),
            revision=Count(None, 1),
            built=parse_days("..2019"),
            plants=("L",),
            serials=(SerialRange("LA1", "LA2"),),
        ),
    )


@pytest.mark.parametrize("empty", [" []", " {}"])
def test_an_empty_exception(empty: str) -> None:
    found, problems = read(f"family: Tarn\nexcept:{empty}\n")
    if empty == " []":
        assert found == (Block(families=("Tarn",)),) and not problems
    else:
        assert found == () and problems == [(2, "empty")]


@pytest.mark.parametrize(
    ("text", "blocks"),
    [
        ("applies: {family: Tarn}\n", (Block(families=("Tarn",)),)),
        ("applies:\n  family: Tarn\n", (Block(families=("Tarn",)),)),
        ("applies: [{family: Tarn}]\n", (Block(families=("Tarn",)),)),
        (
            "applies:\n  - family: Tarn\n    except: {plant: K}\n  - models: CW7A\n",
            (EXCEPT_K, Block(models=("CW7A",))),
        ),
        (
            "applies:\n- family: Tarn\n  except:\n  - plant: K\n  - built: 2024\n  x-a: b\n",
            (EXCEPT_BOTH,),
        ),
        (
            "applies:\n-\n  serials: [A1..A2]\n-\n  family:\n  - Tarn\n  - Cairn\n",
            (Block(serials=(SerialRange("A1", "A2"),)), Block(families=("Tarn", "Cairn"))),
        ),
    ],
)
def test_a_list_of_blocks_is_read_in_every_form(text: str, blocks: Sequence[Block]) -> None:
    assert read(text) == (blocks, [])


@pytest.mark.parametrize(
    ("text", "left", "told"),
    [
        ("built: 2024\n", 0, [(1, "where")]),
        ("plant: K\n", 0, [(1, "where")]),
        ("revision: 2\n", 0, [(1, "where")]),
        ("models: []\n", 0, [(1, "where")]),
        ("models: []\nfamily: Tarn\n", 1, []),
        ("applies: []\n", 0, [(1, "where")]),
        ("applies:\n  - built: 2024\n  - family: Tarn\n", 1, [(2, "where")]),
        ("family: Tarn\napplies:\n  - models: TD45A\n", 1, [(2, "where")]),
        ("applies:\n  - models: TD45A\nplant: K\n", 1, [(1, "where")]),
        ("family: Tarn\nbuilt: soon\n", 0, [(2, "bad-date")]),
        ("family: Tarn\nbuilt: 2025..2024\n", 0, [(2, "bad-date")]),
        ("family: Tarn\nbuilt: 2023-W53\n", 0, [(2, "bad-date")]),
        ("family: Tarn\nrevision: B\n", 0, [(2, "bad-value")]),
        ("family: Tarn\nrevision: [2, 3]\n", 0, [(2, "wrong-shape")]),
        ("family: Tarn\nplant:\n", 0, [(2, "empty")]),
        ("family: Tarn\nfamly: Cairn\n", 1, [(2, "unknown-key")]),
        ("family: Tarn\nexcept: K\n", 0, [(2, "wrong-shape")]),
        ("family: Tarn\nexcept:\n  plant: K\n  built: soon\n", 0, [(4, "bad-date")]),
        ("family: Tarn\nexcept:\n  - plan: K\n", 0, [(3, "unknown-key")]),
        ("family: {Tarn: yes}\n", 0, [(1, "wrong-shape")]),
        ("applies:\n  - family: Tarn\n    built: soon\n  - family: Cairn\n", 1, [(3, "bad-date")]),
        ("applies:\n  - family: Tarn\n  - Cairn\n", 1, [(3, "wrong-shape")]),
        ("family: 'Tarn\nbuilt: 2024\n", 0, [(1, "syntax")]),
    ],
)
def test_a_block_with_a_slip_is_left_out_and_the_slip_told_at_its_line(
    text: str, left: int, told: list[tuple[int, str]]
) -> None:
    found, problems = read(text)
    assert len(found) == left and problems == told


def test_what_a_bulletin_without_a_place_is_told_to_add() -> None:
    message, remedy = words("plant: K\n")
    assert message == (
        "the bulletin says nowhere where it applies: family, models and serials are missing"
    )
    assert remedy == (
        "add a line such as “family: Tarn” or “models: [TD45*]”; a date or a plant alone does not"
    )
    assert words("applies: []\n") == (
        "“applies” has no block: the bulletin says nowhere where it applies",
        "give it at least one block with family, models or serials",
    )
    assert words("family: Tarn\n\napplies: {models: T*}\n") == (
        "“applies” and “family” (line 1) both say where it applies",
        "move every condition into the blocks of “applies”, or do without “applies”",
    )


def test_the_conditions_are_those_of_the_documents() -> None:
    assert CONDITIONS == ("family", "models", "revision", "built", "plant", "serials")
    assert (*CONDITIONS, "except") == WHERE_KEYS


SERIAL = st.text(alphabet="KLPS0123456789 -/", min_size=1, max_size=12).filter(
    lambda text: text.strip(" -") != "" and text == text.strip()
)


@given(SERIAL, SERIAL, st.sampled_from(["..", " .. ", ".. "]))
def test_any_two_serials_make_a_range(first: str, last: str, dots: str) -> None:
    assert serial_range(f"{first}{dots}{last}") == SerialRange(first, last)
    assert serial_range(first) == SerialRange(first, first)


DAY = st.dates(date(1900, 1, 1), date(2199, 12, 31))


@given(DAY, DAY, st.sampled_from(["", "'", '"']))
def test_any_two_days_make_a_range(one: date, other: date, quote: str) -> None:
    first, last = sorted((one, other))
    for text, days in (
        (f"{first}..{last}", Days(first, last)),
        (f"{first}..", Days(first, None)),
        (f"..{last}", Days(None, last)),
    ):
        assert block(f"family: Tarn\nbuilt: {quote}{text}{quote}\n").built == days
