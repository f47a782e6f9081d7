"""What is said about each slip in the YAML tables and in a bulletin: line, words and remedy."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from kb.bulletin import read_bulletin
from kb.faults import Faults
from kb.reference import read_families, read_house_table, read_words
from kb.schemes import read_schemes

Reader = Callable[[str, Faults], Any]
Said = tuple[int, str, str, str]

TARN = """\
Tarn:
  product: dishwasher
  models: [TD45A, TD45B]
  produced: 2016-09..
  scheme: hollin
"""


def said(reader: Reader, text: str) -> Said:
    """Return line, level, message and remedy of the one problem."""
    faults = Faults("reference/x.yaml")
    reader(text, faults)
    (problem,) = faults.problems
    assert problem.file == "reference/x.yaml"
    return problem.line, problem.level, problem.message, problem.remedy


@pytest.mark.parametrize(
    ("text", "line", "level", "message", "remedy"),
    [
        (
            "language: en\n",
            1,
            "error",
            "the key “name” is missing",
            "add a line such as “name: Hollin Ridge”",
        ),
        (
            "name: Hollin\nlanguage: English\n",
            2,
            "error",
            "“English” is no language code",
            "write the two letters of ISO 639, such as en",
        ),
        (
            "name: Hollin\n\nsite: service.example\n",
            3,
            "error",
            "“service.example” is no web address",
            "write where the site will stand, such as https://service.example/",
        ),
        (
            "name: Hollin\nunits: metrik\n",
            2,
            "error",
            "“units” does not know “metrik”",
            "did you mean metric? It takes one of metric, us",
        ),
        (
            "name: |\n  Hollin\n  Ridge\n",
            1,
            "error",
            "“name” runs over several lines",
            "write it on one line",
        ),
        (
            "name: Hollin\nsite:\n",
            2,
            "warning",
            "“site” has no value",
            "fill it in, or remove the line where it is not needed",
        ),
        (
            "name: Hollin\nlogo: a.svg\n",
            2,
            "warning",
            "there is no key “logo”",
            "the keys are name, language, units, site, contact, components, codes; "
            "keys of your own begin with “x-”",
        ),
        (
            "name: Hollin\ncontakt: desk\n",
            2,
            "error",
            "there is no key “contakt”",
            "did you mean “contact”? Keys of your own begin with “x-”",
        ),
    ],
)
def test_house_yaml(text: str, line: int, level: str, message: str, remedy: str) -> None:
    assert said(read_house_table, text) == (line, level, message, remedy)


@pytest.mark.parametrize(
    ("site", "sound"),
    [
        ("https://service.example/", True),
        ("http://localhost:8000/kb", True),
        ("https://service.example", True),
        ("https://", False),
        ("https:///kb", False),
        ("//service.example", False),
        ("file:///kb", False),
    ],
)
def test_a_web_address_has_its_scheme_and_its_host(site: str, sound: bool) -> None:
    faults = Faults("reference/house.yaml")
    assert read_house_table(f"name: Hollin\nsite: {site}\n", faults)["site"] == site
    assert [problem.rule for problem in faults.problems] == ([] if sound else ["bad-value"])


@pytest.mark.parametrize("language", ["en", "EN", "pt-BR", "zh-Hans-CN", "gsw", "no"])
def test_a_language_is_an_iso_639_code_with_its_region(language: str) -> None:
    faults = Faults("reference/house.yaml")
    table = read_house_table(f"name: Hollin\nlanguage: {language}\n", faults)
    assert table["language"] == language and not faults.problems


@pytest.mark.parametrize(
    ("old", "new", "line", "level", "message", "remedy"),
    [
        (
            "  product: dishwasher\n",
            "",
            1,
            "warning",
            "Tarn: the key “product” is missing",
            "add a line such as “product: dishwasher”",
        ),
        (
            "  models: [TD45A, TD45B]\n",
            "",
            1,
            "error",
            "Tarn: the key “models” is missing",
            "add a line such as “models: [TD45A, TD45B]”",
        ),
        (
            "  scheme: hollin\n",
            "",
            1,
            "error",
            "Tarn: the key “scheme” is missing",
            "add a line such as “scheme: hollin”",
        ),
        (
            "TD45B]",
            "TD45*]",
            3,
            "error",
            "“TD45*” is no model number",
            "write each model in full as on the rating plate, without the revision",
        ),
        (
            "TD45B]",
            "'-']",
            3,
            "error",
            "“-” is no model number",
            "write each model in full as on the rating plate, without the revision",
        ),
        (
            "[TD45A, TD45B]",
            "\n    - TD45A\n    - td 45-a",
            5,
            "error",
            "the model td 45-a is listed twice: first in Tarn, line 4",
            "list a model once, in the one family it belongs to",
        ),
        (
            "[TD45A, TD45B]",
            "[]",
            3,
            "error",
            "the list “models” is empty",
            "name one at least",
        ),
        (
            "Tarn:\n",
            "Scree: dryer\nTarn:\n",
            1,
            "error",
            "the family “Scree” has no keys of its own",
            "write its keys below it, indented: “  models: …”",
        ),
        (
            "Tarn:\n",
            f"{TARN.replace('TD', 'TE').replace('Tarn', 'tarn')}Tarn:\n",
            6,
            "error",
            "“Tarn” and “tarn” are one family",
            "keep one of them",
        ),
        (
            "scheme: hollin",
            "scheme: []",
            5,
            "error",
            "a scheme of this family has no name",
            "name a scheme of serials.yaml, or several as [first, second]",
        ),
        (
            "scheme: hollin",
            "scheme:\n    - hollin\n    - [beck]",
            7,
            "error",
            "a scheme of this family has no name",
            "name a scheme of serials.yaml, or several as [first, second]",
        ),
        (
            "scheme: hollin",
            "scheme:\n    - hollin\n    - used: 2020..",
            7,
            "error",
            "scheme: the key “scheme” is missing",
            "add a line such as “scheme: hollin”",
        ),
        (
            "scheme: hollin",
            "scheme: {name: hollin, period: 2020-13}",
            5,
            "error",
            "“period”: there is no month 13",
            "months run from 01 to 12",
        ),
        (
            "scheme: hollin\n",
            "scheme: hollin\n  brand: none\n",
            6,
            "warning",
            "there is no key “brand” in “Tarn”",
            "the keys are product, models, produced, scheme, components, codes; "
            "keys of your own begin with “x-”",
        ),
    ],
)
def test_families_yaml(
    old: str, new: str, line: int, level: str, message: str, remedy: str
) -> None:
    assert said(read_families, TARN.replace(old, new, 1)) == (line, level, message, remedy)


@pytest.mark.parametrize(
    ("text", "line", "message", "remedy"),
    [
        (
            "same:\n  - [hum, buzz]\n  - leak, drip\n",
            3,
            "“same” takes one list for each ring of words",
            "write “- [leak, drip, water on floor]” for each ring",
        ),
        (
            "spelled: {}\nsame: leak\n",
            2,
            "“same” takes one list for each ring of words",
            "write “- [leak, drip, water on floor]” for each ring",
        ),
        (
            "same:\n  - [leak,\n     '', drip]\n",
            3,
            "a word of this ring is empty",
            "remove the comma",
        ),
        (
            "same: []\nspelled: {gaskit: }\n",
            2,
            "“gaskit” has no value",
            "fill it in, or remove the line where it is not needed",
        ),
        (
            "spelled: [a, b]\n",
            1,
            "“spelled” takes keys of its own",
            "write the keys of each item below one another, the first behind a dash",
        ),
    ],
)
def test_words_yaml(text: str, line: int, message: str, remedy: str) -> None:
    assert said(read_words, text) == (line, "error", message, remedy)


def test_a_ring_with_an_empty_word_keeps_the_others() -> None:
    words = read_words("same:\n  - [leak, '', drip]\n  - [a]\n", Faults("w"))
    assert words.same == (("leak", "drip"), ("a",))


PLACES = (
    "places are P plant, Y year, W week, M month, D day of month, J day of year, N sequence, "
    "X anything"
)


@pytest.mark.parametrize(
    ("keys", "line", "message", "remedy"),
    [
        ("week: iso", 1, "beck: the key “layout” is missing", "add a line such as “layout: P Y W"),
        ("layout: YY WW Q", 2, "“Q” is no place of a layout", PLACES),
        ("layout: '- -'", 2, "the layout has no places", PLACES),
        ("layout: N YY N", 2, "the place N stands in two pieces", "next to each other"),
        ("layout: YYY N", 2, "a year of 3 digits cannot be read", "write Y, YY or YYYY"),
        ("layout: YY W N", 2, "the place W is 1 wide, and it takes 2 digits", "write WW"),
        ("layout: YY WWW N", 2, "the place W is 3 wide, and it takes 2 digits", "write WW"),
        ("layout: YY MM D", 2, "the place D is 1 wide, and it takes 2 digits", "write DD"),
        ("layout: YY JJ N", 2, "the place J is 2 wide, and it takes 3 digits", "write JJJ"),
        ("layout: YY M N", 2, "a month 1 wide needs to be told how it is written", "write MM for"),
        ("layout: WW N", 2, "the layout has a week, month or day and no year", "add Y, YY or YYYY"),
        ("layout: YY WW MM", 2, "W and M both say when in the year", "keep one of them"),
        ("layout: YY DD N", 2, "a day of the month needs a month", "add MM, or use JJJ"),
        ("layout: " + "N" * 41, 2, "the layout is longer than any serial", "one letter for each"),
        ("layout: YY\n  plant: {K: a}", 3, "plants are listed, and the layout has no P", "add P"),
        (
            "layout: PP YY\n  plant: {K: a}",
            3,
            "the plant “K” does not fill the 2 of P",
            "correct the plant code",
        ),
        (
            "layout: P YY\n  plant:\n    K: a\n    k: b",
            5,
            "the plant “k” is listed twice",
            "correct the plant code",
        ),
        ("layout: P YY\n  plant: {K: }", 3, "“K” has no value", "fill it in"),
        (
            "layout: Y N\n  year: {first: 2010}",
            3,
            "year: the key “letters” is missing",
            "add a line such as “letters: ABCDEFHJKLMNPRSTUVWX”",
        ),
        (
            "layout: Y N\n  year: {letters: ABC}",
            3,
            "year: the key “first” is missing",
            "add a line such as “first: 2010”",
        ),
        (
            "layout: Y N\n  year: {letters: ABCA, first: 2010}",
            3,
            "“letters”: the letter A stands twice",
            "give each year or month its own letter",
        ),
        (
            "layout: Y N\n  year: {letters: ABC, first: 1899}",
            3,
            "“first”: “1899” is no year",
            "write the year of the first letter, such as 2010",
        ),
        (
            "layout: YY N\n  year: {letters: ABC, first: 2010}",
            2,
            "year letters fill one place, the layout has 2 of Y",
            "write a single Y",
        ),
        (
            "layout: Y M\n  month: {letters: 123456789ON}",
            3,
            "“letters”: 11 letters for 12 months",
            "write 12, such as 123456789OND",
        ),
        (
            "layout: Y MM\n  month: {letters: 123456789OND}",
            2,
            "month letters fill one place, the layout has 2 of M",
            "write a single M",
        ),
        ("layout: Y M\n  month: digits", 3, "“month” takes keys of its own", "below one another"),
        (
            "layout: YY WW N\n  week: isoo",
            3,
            "“week” does not know “isoo”",
            "did you mean iso? It takes one of iso, jan-1",
        ),
        (
            "layout: YY N\n  examples:\n    - {serial: 101}\n    - {plant: K}",
            5,
            "examples: the key “serial” is missing",
            "add a line such as “serial: K P 14 00031”",
        ),
        (
            "layout: YY N\n  examples: [{serial: 101, sequence: x}]",
            3,
            "“sequence”: “x” is no whole number",
            "write the sequence number, such as 31",
        ),
    ],
)
def test_serials_yaml(keys: str, line: int, message: str, remedy: str) -> None:
    found = said(read_schemes, f"beck:\n  {keys}\n")
    assert found[:3] == (line, "error", message) and remedy in found[3]


def test_a_plant_that_is_not_listed_is_only_warned_of() -> None:
    assert said(read_schemes, "beck:\n  layout: P YY WW N\n") == (
        2,
        "warning",
        "the layout has a plant, and no plant is listed",
        "add a line such as “plant: {K: Kirkholm works}”",
    )


@pytest.mark.parametrize("slip", ["week: moon", "plant: {KK: a}", "used: soon", "weeks: iso"])
def test_the_examples_of_a_scheme_with_a_slip_prove_nothing(slip: str) -> None:
    text = "beck:\n  layout: P YY WW N\n  examples: [K 22 14 1]\n"
    assert len(read_schemes(text, Faults("s"))["beck"].examples) == 1
    assert read_schemes(f"{text}  {slip}\n", Faults("s"))["beck"].examples == ()


def test_a_plant_without_the_blank_behind_its_colon_is_told_once() -> None:
    text = "beck:\n  layout: P YY N\n  plant: {K:Kirkholm, L: Langrigg}\n"
    assert said(read_schemes, text) == (
        3,
        "error",
        "after “K:” a blank is missing",
        "write “K: …” with a blank",
    )


@pytest.mark.parametrize(("width", "sound"), [(40, True), (41, False)])
def test_a_layout_has_40_places_at_most(width: int, sound: bool) -> None:
    faults = Faults("s")
    read_schemes(f"beck:\n  layout: {'N' * width}\n", faults)
    assert (not faults.problems) == sound


@pytest.mark.parametrize("year", ["{letters: ABC}", "{first: 2010}", "{letters: ABC, first: 10}"])
def test_a_year_that_is_not_told_whole_begins_with_none(year: str) -> None:
    text = f"beck:\n  layout: Y WW N\n  year: {year}\n"
    assert read_schemes(text, Faults("s"))["beck"].year_first == 0


def test_with_one_plant_wrong_no_plant_is_known() -> None:
    text = "beck:\n  layout: P YY WW N\n  plant: {K: a, LL: b}\n"
    assert read_schemes(text, Faults("s"))["beck"].plants == {}


HEAD = """\
---
number: 2026-014
title: Drain pump hums
kind: repair
issued: 2026-03-02
component: drain pump
family: Tarn
"""


def bulletin(keys: str) -> Reader:
    return lambda _, faults: read_bulletin(f"{HEAD}{keys}\n---\n", faults, {"tarn": "Tarn"})


@pytest.mark.parametrize(
    ("keys", "line", "level", "message", "remedy"),
    [
        ("revised: 2026-4-1", 8, "error", "“revised”: “2026-4-1” is no date", "year-month-day"),
        ("status: superseded", 8, "error", "“status” does not know “superseded”", "withdrawn"),
        ("status:", 8, "error", "“status” has no value", "fill it in"),
        ("summary:", 8, "warning", "“summary” has no value", "fill it in"),
        ("supersedes: {a: b}", 8, "error", "“supersedes” takes a list of plain texts", "[one,"),
        ("hazards: [gas, gass]", 8, "error", "“hazards” does not know “gass”", "did you mean gas?"),
        ("hazards:\n- gas\n- lions", 10, "error", "“hazards” does not know “lions”", "electricity"),
        ("minutes: 1,5", 8, "error", "“minutes”: “1,5” is no number above 0", "a point: 1.5"),
        ("checks: look", 8, "error", "“checks” takes keys of its own", "first behind a dash"),
        ("checks:\n- test: a", 9, "error", "checks: the key “cause” is missing", "connector not"),
        ("checks:\n- cause:", 9, "error", "“cause” has no value", "fill it in"),
        ("checks:\n- cause: a\n  fix:", 10, "warning", "“fix” has no value", "fill it in"),
        ("checks:\n- {cause: a, last: jo}", 9, "error", "“last”: “jo” is neither yes nor no", "no"),
        (
            "checks:\n- {cause: a, odds: 1}",
            9,
            "error",
            "there is no key “odds” in “checks”",
            "cause",
        ),
        ("parts: [{quantity: 2}]", 8, "error", "parts: the key “number” is missing", "HR-310-1118"),
        (
            "parts:\n- A\n- {number: B, quantity: 0}",
            10,
            "error",
            "“quantity”: “0” is no",
            "such as",
        ),
        ("parts: [{number: B, in_hand: yes}]", 8, "error", "there is no key “in_hand”", "in-hand"),
        ("coverage: 5 years", 8, "error", "“coverage” takes keys of its own", "below one another"),
        (
            "coverage: {component: pump, from: built}",
            8,
            "error",
            "coverage: the key “years” is missing",
            "“years: 5”",
        ),
        (
            "coverage: {component: pump, years: 5, from: sale}",
            8,
            "error",
            "“from” does not know “sale”",
            "It takes one of purchase, built",
        ),
        (
            "coverage: {component: pump, years: , from: built}",
            8,
            "error",
            "“years” has no value",
            "fill it in",
        ),
        (
            "age: {years: 5}",
            8,
            "error",
            "age: the key “advice” is missing",
            "replace the inlet hose",
        ),
        ("age: {years: old, advice: a}", 8, "error", "“years”: “old” is no number", "above 0"),
        ("weather: fair", 8, "error", "there is no key “weather”", "those of `kb draft`"),
        ("symptom: hums", 8, "error", "there is no key “symptom”", "did you mean “symptoms”?"),
        ("tools: socket #8", 8, "warning", "the text from “#” on is taken for a comment", "quotes"),
    ],
)
def test_a_bulletin(keys: str, line: int, level: str, message: str, remedy: str) -> None:
    found = said(bulletin(keys), "")
    assert found[:2] == (line, level)
    assert message in found[2] and remedy in found[3]


@pytest.mark.parametrize("key", ["number", "title", "kind", "issued", "component"])
def test_each_required_key_is_asked_for_at_the_start_of_the_file(key: str) -> None:
    head = "".join(line for line in HEAD.splitlines(True) if not line.startswith(f"{key}:"))
    faults = Faults("a.md")
    outcome = read_bulletin(f"{head}---\n", faults, {})
    (problem,) = faults.problems
    assert (problem.line, problem.rule, problem.level) == (1, "missing-key", "error")
    assert problem.message == f"the key “{key}” is missing" and f"“{key}: " in problem.remedy
    assert not outcome.sound and (outcome.bulletin is None) == (key != "component")


@pytest.mark.parametrize("text", ["same:\n", "spelled:\n", "same:\nspelled:\n", "spelled: ''\n"])
def test_words_that_are_not_written_yet_are_no_matter_for_a_word(text: str) -> None:
    faults = Faults("w")
    assert read_words(text, faults).same == () and not faults.problems


@pytest.mark.parametrize(
    "keys",
    [
        "age: {years: 5}",
        "age: {advice: replace it}",
        "age: 5 years",
        "age:",
        "coverage: {component: pump, years: 5}",
        "coverage: {component: pump, from: built}",
        "coverage: {years: 5, from: built}",
        "coverage: 5 years",
        "coverage: [pump, 5, built]",
    ],
)
def test_half_a_term_is_no_term(keys: str) -> None:
    faults = Faults("a.md")
    found = read_bulletin(f"{HEAD}{keys}\n---\n", faults, {"tarn": "Tarn"}).bulletin
    assert found is not None and found.age is None and found.coverage is None
    assert {problem.line for problem in faults.problems} == {8}
