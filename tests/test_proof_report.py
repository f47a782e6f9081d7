"""The report for the terminal, and the same problems as JSON."""

from __future__ import annotations

import json
from collections.abc import Sequence

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.errors import Level, Problem
from kb.proof.report import SCREEN, as_json, count_line, listing, report, summary, worst


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


def many(count: int) -> list[Problem]:
    """*count* problems of three kinds in five files, every third one a warning."""
    return [
        problem(
            file=f"2026/2026-{n % 5:03}.md",
            line=n + 1,
            level="warning" if n % 3 == 2 else "error",
            rule=("family-unknown", "part-unknown", "future")[n % 3],
            message=f"problem {n} with a message that goes on over more than one line of a screen",
            remedy="do this, and if that does not help, do the other thing instead of it all",
        )
        for n in range(count)
    ]


@pytest.mark.parametrize("width", [60, 80, 100])
@pytest.mark.parametrize("count", [1, 30, 500])
def test_no_line_is_wider_than_the_terminal(width: int, count: int) -> None:
    lines = report(many(count), width=width).splitlines()
    assert max(map(len, lines)) <= width


@pytest.mark.parametrize("width", [60, 80, 100])
@pytest.mark.parametrize("count", [0, 1, 30, 500])
def test_no_word_of_a_problem_is_lost_at_any_width(width: int, count: int) -> None:
    found = many(count)
    words = " ".join(report(found, width=width).split())
    for one in found:
        assert f"{one.file}:{one.line}: " in words
        assert one.message in words
    assert words.count("do this, and if that does not help") == count


@pytest.mark.parametrize(
    ("count", "words"),
    [
        (0, "Nothing is wrong."),
        (1, "1 error in 1 file."),
        (30, "20 errors and 10 warnings in 5 files."),
        (500, "334 errors and 166 warnings in 5 files."),
    ],
)
def test_the_closing_line_counts_any_number(count: int, words: str) -> None:
    assert report(many(count)).endswith(f"{words}\n")
    assert report(many(count)).count(words) == 1


@pytest.mark.parametrize(("count", "summed"), [(0, False), (1, False), (30, True), (500, True)])
def test_a_summary_stands_only_below_what_fills_more_than_a_screen(
    count: int, summed: bool
) -> None:
    lines = report(many(count)).splitlines()
    assert any("first 2026/" in line for line in lines) is summed
    assert (len(lines) > SCREEN) is summed


def test_a_report_that_just_fills_the_screen_has_no_summary() -> None:
    short = [problem(line=n) for n in range(5)]  # two lines each, and the closing one
    assert len(report(short, screen=11).splitlines()) == 11
    assert "first" not in report(short, screen=11)
    assert "first" in report(short, screen=10)


def test_errors_are_listed_before_warnings_and_each_in_its_place() -> None:
    lines = [line for line in listing(many(30)) if not line.startswith(" ")]
    warned = [": warning: " in line for line in lines]
    assert warned == sorted(warned)
    errors = [p for p in many(30) if p.level == "error"]
    ordered = sorted(errors, key=lambda p: (p.file, p.line))
    assert [line.split(": ")[0] for line in lines[:20]] == [f"{p.file}:{p.line}" for p in ordered]


def test_the_summary_has_the_most_frequent_first_and_errors_above() -> None:
    found = many(30) + [problem(rule="part-unknown", line=900 + n) for n in range(3)]
    kinds = [line.split()[:3] for line in summary(found)]
    assert kinds == [
        ["13", "error", "part-unknown"],
        ["10", "error", "family-unknown"],
        ["10", "warning", "future"],
    ]


def test_a_summary_without_room_counts_the_rest() -> None:
    found = [problem(rule=f"rule-{n:02}", line=n) for n in range(9) for _ in range(9 - n)]
    lines = summary(found, most=4)
    assert [line.split()[0] for line in lines] == ["9", "8", "7", "21"]
    assert lines[-1].split(maxsplit=1)[1] == "of other kinds"


@pytest.mark.parametrize(("rules", "most", "rest"), [(4, 4, False), (5, 4, True), (1, 1, False)])
def test_what_just_fits_is_not_cut(rules: int, most: int, rest: bool) -> None:
    lines = summary([problem(rule=f"rule-{n}") for n in range(rules)], most=most)
    assert len(lines) == min(rules, most)
    assert ("other kinds" in lines[-1]) is rest


def test_a_summary_line_too_long_is_cut_with_a_sign() -> None:
    (line,) = summary([problem(file="2026/" + "x" * 90 + ".md")])
    assert len(line) == 80 and line.endswith("…")
    (line,) = summary([problem()])
    assert not line.endswith("…")


@pytest.mark.parametrize(
    ("levels", "tone"),
    [(["error"], "error"), (["warning"], "warning"), (["warning", "error"], "error")],
)
def test_the_closing_line_has_the_tone_of_the_worst(levels: list[Level], tone: str) -> None:
    said: list[tuple[str, str]] = []

    def style(text: str, tone: str) -> str:
        said.append((text, tone))
        return text

    found = [problem(level=level) for level in levels]
    report(found, style)
    assert said[0][0].startswith("2026/") or said[0][1] == tone
    assert (count_line(found), tone) in said
    assert worst(found) == tone


def test_a_sound_house_is_told_in_the_tone_of_one() -> None:
    assert report([], lambda text, tone: f"{tone}: {text}") == "sound: Nothing is wrong.\n"


@given(PROBLEMS)
def test_json_read_back_gives_the_same_problems(problems: list[Problem]) -> None:
    read = json.loads(json.dumps(as_json(problems)))
    assert [Problem(**one) for one in read["problems"]] == problems


def test_json_keeps_the_words_as_they_are() -> None:
    one = problem(message="a “quoted” 'word' → ü\n\t\\", remedy="")
    text = json.dumps(as_json([one]), ensure_ascii=False)
    (read,) = json.loads(text)["problems"]
    assert (read["message"], read["remedy"]) == (one.message, "")
    assert list(read) == ["file", "line", "level", "rule", "message", "remedy"]


def test_a_problem_without_remedy_has_no_empty_line() -> None:
    assert report([problem(remedy="")]).splitlines() == [
        "2026/2026-001.md:6: There is no family 'Tran'",
        "1 error in 1 file.",
    ]
