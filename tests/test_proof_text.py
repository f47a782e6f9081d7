"""Rules on the body, the order of what is said, and rules as a table."""

from __future__ import annotations

import string
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.errors import Problem
from kb.proof import RULES, in_order, run
from kb.proof import text as text_rules
from kb.records import House
from tests.proof_house import TODAY, broken, bulletin, house, part, said

SVG = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 9 9">{}</svg>'


def body(text: str, **fields: Any) -> House:
    files = ("2026/2026-001.md", "2026/2026-001/pump.svg", "2026/plan.png")
    return house(bulletin(body=text, body_line=20), files=files, **fields)


@pytest.mark.parametrize(
    "src", ["2026-001/pump.svg", "./2026-001/pump.svg", "plan.png", "../2026/plan.png"]
)
def test_a_picture_of_the_house_is_sound(src: str) -> None:
    assert said(body(f"![pump]({src})"), "picture-missing") == []


@pytest.mark.parametrize("src", ["2026-001/pmup.svg", "pump.svg", "2026-001/Pump.svg"])
def test_a_picture_that_is_not_there_is_told_on_its_line(src: str) -> None:
    (problem,) = broken(body(f"One.\n\nTwo ![pump]({src})"), "picture-missing")
    assert (problem.line, problem.level) == (22, "error")
    assert src in problem.message


def test_a_near_picture_is_proposed() -> None:
    (problem,) = broken(body("![pump](2026-001/pmup.svg)"), "picture-missing")
    assert problem.remedy.startswith("did you mean 2026-001/pump.svg?")


@pytest.mark.parametrize("src", ["https://example.org/a.svg", "../../a.svg", "/etc/a.svg"])
def test_a_picture_from_outside_is_told_once(src: str) -> None:
    one = body(f"![pump]({src})")
    assert said(one, "picture-missing") == []
    rules = [p.rule for p in run(one, TODAY) if p.line == 20 and p.rule.startswith("picture")]
    assert len(rules) == 1


@pytest.mark.parametrize(
    ("inside", "wrong"),
    [
        ('<circle cx="4" cy="4" r="2"/>', False),
        ("<script>alert(1)</script>", True),
        ('<circle r="2" onclick="alert(1)"/>', True),
        ('<image href="https://example.org/a.png"/>', True),
        ('<a href="javascript:alert(1)"><circle r="1"/></a>', True),
        ("<foreignObject/>", True),
        ("<circle>", True),
    ],
)
def test_a_drawing_that_could_act_is_told(inside: str, wrong: bool, tmp_path: Path) -> None:
    (tmp_path / "a.svg").write_text(SVG.format(inside), "utf-8")
    one = replace(house(), folder=tmp_path, files=("a.svg",))
    found = broken(one, "picture-acts")
    assert bool(found) is wrong
    assert all(p.file == "a.svg" and p.level == "error" for p in found)


def test_a_drawing_that_cannot_be_read_is_told(tmp_path: Path) -> None:
    one = replace(house(), folder=tmp_path, files=("gone.svg",))
    assert len(said(one, "picture-acts")) == 1


MANY = [bulletin(f"2025-{n:03}") for n in range(5)]
PARTS = [part(f"HR-10{n}-20") for n in range(5)]


def spoken(text: str, rule: str) -> list[str]:
    one = bulletin(body=text, codes=("2024-888",))
    return said(house(*MANY, one, parts=PARTS), rule)


@pytest.mark.parametrize("text", ["See 2025-009.", "(2025-009)", "as in 2025-009, or so"])
def test_a_number_built_like_a_bulletin_s_but_unknown_is_told(text: str) -> None:
    assert spoken(text, "text-bulletin-unknown") == [
        "the text speaks of 2025-009, and there is no such bulletin"
    ]


@pytest.mark.parametrize(
    "text",
    [
        "See 2025-003.",
        "2024-888 on the display",
        "call 02025-0099",
        "https://example.org/2025-009",
        "x-2025-009",
        "2025-009-1",
        "2025-009/2",
    ],
)
def test_known_numbers_and_other_things_are_left_alone(text: str) -> None:
    assert spoken(text, "text-bulletin-unknown") == []


def test_a_number_built_like_a_part_s_but_unknown_is_told() -> None:
    assert spoken("Fit HR-109-20.", "text-part-unknown") == [
        "the text speaks of HR-109-20, and there is no such part"
    ]
    assert spoken("Fit HR-103-20.", "text-part-unknown") == []


def test_dates_are_no_bulletin_numbers() -> None:
    months = [bulletin(f"2025-{n:02}") for n in range(1, 5)]
    one = house(*months, bulletin(body="Since 2019-07 and in 2019-33."))
    assert said(one, "text-bulletin-unknown") == [
        "the text speaks of 2019-33, and there is no such bulletin"
    ]


def test_a_few_numbers_of_one_shape_are_not_a_rule() -> None:
    one = house(bulletin("2025-001"), bulletin(body="See 2025-009."))
    assert said(one, "text-bulletin-unknown") == []


def test_notes_of_the_body_are_errors_at_their_lines() -> None:
    one = body("One.\n\n::: danger\nLive.\n\n![](2026-001/pump.svg)\n")
    one = replace(one, folder=Path("nowhere"), files=("2026/2026-001/pump.svg.txt",))
    found = {(p.rule, p.line, p.level) for p in run(one, TODAY)}
    assert ("panel-unclosed", 22, "error") in found
    assert ("picture-alt", 25, "error") in found


def test_problems_met_in_reading_are_told_too() -> None:
    met = Problem(file="a.md", line=3, level="error", rule="syntax", message="m", remedy="r")
    assert met in run(replace(house(), problems=(met,)), TODAY)


def test_problems_come_by_file_then_line_then_errors_first() -> None:
    def one(file: str, line: int, level: Any) -> Problem:
        return Problem(file=file, line=line, level=level, rule="r", message="m", remedy="")

    found = [
        one("b", 1, "error"),
        one("a", 2, "warning"),
        one("a", 2, "error"),
        one("a", 1, "error"),
    ]
    ordered = [(p.file, p.line, p.level) for p in in_order(found)]
    assert ordered == sorted(ordered)


def test_an_empty_house_is_met_without_a_stumble() -> None:
    assert run(House(folder=Path("nowhere")), TODAY) == []


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.name)
def test_every_rule_says_what_is_wrong_and_what_to_do(rule: Any) -> None:
    assert rule.message and rule.remedy
    assert rule.level in ("error", "warning")
    assert set(rule.name) <= set(string.ascii_lowercase + "-")
    assert not rule.message.endswith(".") and not rule.remedy.endswith(".")
    assert rule.find.__module__.startswith("kb.proof")


def test_rules_have_names_of_their_own() -> None:
    names = [rule.name for rule in RULES]
    assert len(set(names)) == len(names) > 45


def test_the_same_house_says_the_same_every_time() -> None:
    one = house(*MANY, bulletin(body="See 2025-009.", keep=("HR-9",)), parts=PARTS)
    assert run(one, TODAY) == run(one, TODAY)


@pytest.mark.parametrize(("known", "told"), [(2, False), (3, True)])
def test_three_numbers_of_one_shape_are_a_rule(known: int, told: bool) -> None:
    rest = [bulletin(f"2025-{n:03}") for n in range(known - 1)]
    one = house(*rest, bulletin("2025-100", body="See 2025-009."))
    assert bool(said(one, "text-bulletin-unknown")) is told


@pytest.mark.parametrize("text", ["`HR-109-20`", "```\nHR-109-20\n```", "``a`HR-109-20``"])
def test_a_part_number_set_as_code_is_left_alone(text: str) -> None:
    assert spoken(text, "text-part-unknown") == []


@pytest.mark.parametrize(
    "text", ["`x` HR-109-20 `y`", "a ` HR-109-20", "```\nx\n```\nHR-109-20", "`\n\nHR-109-20\n\n`"]
)
def test_a_number_beside_code_is_still_asked_after(text: str) -> None:
    assert len(spoken(text, "text-part-unknown")) == 1


def test_a_date_built_like_a_part_number_is_a_date() -> None:
    rows = [part(f"2019-1{n}-77") for n in range(4)]
    one = house(bulletin(body="Since 2019-11-05 and 2019-17-05."), parts=rows)
    assert said(one, "text-part-unknown") == [
        "the text speaks of 2019-17-05, and there is no such part"
    ]


@given(st.text(st.sampled_from("aZ19-./@_ \n\u00a0é"), max_size=40))
def test_numbers_are_looked_for_where_hyphens_and_dots_stand(text: str) -> None:
    spans = [found.span() for found in text_rules.joined(text)]
    assert spans == [found.span() for found in text_rules.NUMBER.finditer(text)]
