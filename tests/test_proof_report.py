"""The report for the terminal, and the same problems as JSON."""

from __future__ import annotations

import json
from collections.abc import Sequence

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.errors import Level, Problem
from kb.proof.report import as_json, count_line, listing, report, summary


def problem(
    file: str = "2026/2026-001.md",
    line: int = 6,
    level: Level = "error",
    rule: str = "family-unknown",
    message: str = "There is no family 'Tran'",
    remedy: str = "Did you mean Tarn?",
) -> Problem:
    return Problem(file=file, line=line, level=level, rule=rule, message=message, remedy=remedy)


PROBLEMS = st.lists(
    st.builds(
        problem,
        file=st.sampled_from(["2026/a.md", "2026/b.md", "reference/parts.csv"]),
        line=st.integers(1, 9999),
        level=st.sampled_from(["error", "warning"]),
        rule=st.sampled_from([f"rule-{n}" for n in range(60)]),
        message=st.text("abc de", min_size=1, max_size=300),
        remedy=st.text("xyz uv", max_size=200),
    ),
    max_size=200,
)


def test_a_problem_is_told_by_place_then_words_then_remedy() -> None:
    assert report([problem()]) == (
        "2026/2026-001.md:6: There is no family 'Tran'\n"
        "    Did you mean Tarn?\n"
        "1 error in 1 file.\n"
    )


def test_a_warning_says_that_it_is_one() -> None:
    first = report([problem(level="warning")]).splitlines()[0]
    assert first == "2026/2026-001.md:6: warning: There is no family 'Tran'"


def test_errors_come_before_warnings_each_by_file_and_line() -> None:
    mixed = [
        problem(file="b.md", line=1),
        problem(file="a.md", line=9, level="warning"),
        problem(file="a.md", line=12),
        problem(file="a.md", line=3),
    ]
    places = [line.split(": ")[0] for line in listing(mixed) if not line.startswith(" ")]
    assert places == ["a.md:3", "a.md:12", "b.md:1", "a.md:9"]


@pytest.mark.parametrize(
    ("errors", "warnings", "words"),
    [
        (0, 0, "Nothing is wrong."),
        (1, 0, "1 error in 1 file."),
        (0, 1, "1 warning in 1 file."),
        (2, 1, "2 errors and 1 warning in 1 file."),
    ],
)
def test_the_last_line_counts(errors: int, warnings: int, words: str) -> None:
    found = [problem(line=n) for n in range(errors)]
    found += [problem(line=n, level="warning") for n in range(warnings)]
    assert count_line(found) == words
    assert report(found).splitlines()[-1] == words


def test_a_long_message_is_broken_between_words_at_eighty_columns() -> None:
    lines = report([problem(message="the word " * 40, remedy="do this " * 30)]).splitlines()
    assert max(map(len, lines)) <= 80
    assert all(line.startswith("  ") for line in lines[1:-1])


def test_the_place_stays_in_one_piece_however_long() -> None:
    path = "2026/" + "very-long-folder-name/" * 6 + "2026-001.md"
    assert report([problem(file=path)]).startswith(f"{path}:6:")


def _screenful(problems: Sequence[Problem], screen: int) -> list[str]:
    return report(problems, screen=screen).splitlines()[-screen:]


@given(PROBLEMS, st.integers(10, 60))
def test_the_last_screen_of_a_long_report_holds_the_whole_summary(
    problems: list[Problem], screen: int
) -> None:
    lines = report(problems, screen=screen).splitlines()
    if len(lines) > screen:
        last = _screenful(problems, screen)
        shown = summary(problems, most=screen - 2)
        assert last[-1 - len(shown) : -1] == shown
        assert last[-2 - len(shown)] == ""


@given(PROBLEMS, st.integers(2, 30))
def test_a_summary_fits_and_its_counts_add_up(problems: list[Problem], most: int) -> None:
    lines = summary(problems, most=most)
    assert len(lines) <= most
    assert all(len(line) <= 80 for line in lines)
    assert sum(int(line.split()[0]) for line in lines) == len(problems)


@given(PROBLEMS)
def test_every_problem_is_in_the_report(problems: list[Problem]) -> None:
    text = report(problems)
    assert all(f"{p.file}:{p.line}:" in text for p in problems)


def test_a_short_report_has_no_summary() -> None:
    assert "family-unknown" not in report([problem(line=n) for n in range(5)])


def test_a_summary_names_the_first_place_of_each_kind() -> None:
    many = [problem(line=n) for n in (9, 4, 7)] + [problem(level="warning", rule="future")]
    lines = summary(many)
    assert lines[0].split() == ["3", "error", "family-unknown", "first", "2026/2026-001.md:4"]
    assert lines[1].split() == ["1", "warning", "future", "first", "2026/2026-001.md:6"]


def test_a_style_is_given_each_line_with_its_tone() -> None:
    tones: list[str] = []

    def style(text: str, tone: str) -> str:
        tones.append(tone)
        return f"<{text}>"

    text = report([problem(), problem(level="warning")], style)
    assert tones.count("remedy") == 2
    assert {"error", "warning"} <= set(tones)
    assert all(line.startswith("<") for line in text.splitlines())


@given(PROBLEMS)
def test_json_holds_every_field_and_nothing_else(problems: list[Problem]) -> None:
    read = json.loads(json.dumps(as_json(problems)))
    assert list(read) == ["problems"]
    assert [set(p) for p in read["problems"]] == [
        {"file", "line", "level", "rule", "message", "remedy"}
    ] * len(problems)
    assert [(p["file"], p["line"]) for p in read["problems"]] == [
        (p.file, p.line) for p in problems
    ]


def test_no_problem_is_an_empty_list_in_json() -> None:
    assert as_json([]) == {"problems": []}
