from __future__ import annotations

import string
from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from kb.drafting import copied, draft, next_number, one_line, quoted, sheet
from kb.errors import KbError, NotFound
from kb.faults import Faults
from kb.frontmatter import split
from kb.house import read_house
from kb.proof import run as proof
from kb.records import Bulletin, House
from tests.conftest import SMALL_HOUSE, SOUND_BULLETIN
from tests.deskhouse import HOUSE, run, write_house

TODAY = date(2026, 11, 25)


def of(*numbers: str) -> list[Bulletin]:
    return [
        Bulletin(
            number=number,
            title="t",
            kind="repair",
            issued=date(2020, 1, place + 1),
            component=("c",),
            where=(),
        )
        for place, number in enumerate(numbers)
    ]


@pytest.mark.parametrize(
    ("numbers", "expected"),
    [
        ([], "2026-001"),
        (["2025-118"], "2026-001"),
        (["2026-001"], "2026-002"),
        (["2026-014", "2026-009"], "2026-015"),
        (["2026-099"], "2026-100"),
        (["2026-999"], "2026-1000"),
        (["2026-7"], "2026-8"),
        (["2026-0007"], "2026-0008"),
        (["2026-x", "2026-003b"], "2026-001"),
        (["2026-01-05"], "2026-001"),
        (["TD-0145", "TD-0146"], "TD-0147"),
        (["SB.17"], "SB.18"),
        (["A-9", "A-10"], "A-11"),
        (["alpha"], "alpha-001"),
    ],
)
def test_the_next_number_counts_on_in_the_form_of_the_house(
    numbers: list[str], expected: str
) -> None:
    assert next_number(of(*numbers), 2026) == expected


def test_numbers_of_files_that_do_not_read_are_not_given_again() -> None:
    assert next_number(of("2026-001"), 2026, ["2026-002", "2026-001"]) == "2026-003"


@given(st.lists(st.integers(1, 3000), max_size=20))
def test_the_next_number_is_never_one_that_is_taken(numbers: list[int]) -> None:
    taken = [f"2026-{number:03}" for number in numbers]
    found = next_number(of(*taken), 2026)
    assert found not in taken
    assert int(found.rpartition("-")[2]) == max(numbers, default=0) + 1


@pytest.fixture(scope="module")
def house(tmp_path_factory: pytest.TempPathFactory) -> House:
    return read_house(write_house(tmp_path_factory.mktemp("draft") / "bulletins"))


def value_of(text: str, key: str) -> str:
    """Return a key's text as front matter reads it."""
    faults = Faults("x.md")
    front = split(text, faults)
    assert front is not None
    value = front.keys.pairs[key].value
    return getattr(value, "text", "")


@given(st.text(min_size=1, max_size=60))
@settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_any_title_reads_back_as_one_line(house: House, title: str) -> None:
    text = sheet("2026-001", TODAY, {"title": title}, house)
    expected = one_line(title)
    if expected:
        assert value_of(text, "title") == expected


PRINTABLE = st.text(
    alphabet=st.sampled_from(string.ascii_letters + string.digits + " :'\"#{}[]&*!|>%@`-,?äß…\\"),
    min_size=1,
    max_size=40,
)


@given(PRINTABLE)
@settings(
    max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
def test_a_title_is_read_by_the_house_as_it_was_typed(
    tmp_path_factory: pytest.TempPathFactory, title: str
) -> None:
    folder = write_house(tmp_path_factory.mktemp("titles") / "bulletins", SMALL_HOUSE)
    if not title.strip():
        return
    path = draft(read_house(folder), TODAY, {"title": title})
    read = read_house(folder)
    assert [b.title for b in read.bulletins] == [" ".join(title.split())]
    assert path.is_file()


@pytest.mark.parametrize(
    ("title", "line"),
    [
        ("Door will not latch", "title: Door will not latch"),
        ("Hums: no water", "title: 'Hums: no water'"),
        ("It's stuck", "title: 'It''s stuck'"),
        ("no", "title: no"),
        ("- dash", "title: '- dash'"),
        ("two\nlines\tand a bell\x07", "title: two lines and a bell"),
        ("", "title: What is wrong, in the words of who sees it"),
    ],
)
def test_plain_titles_stay_plain_and_others_are_quoted(house: House, title: str, line: str) -> None:
    assert line in sheet("2026-001", TODAY, {"title": title}, house).splitlines()


@given(st.text(max_size=30))
def test_quoted_text_is_one_line_of_front_matter(text: str) -> None:
    clean = one_line(text)
    if clean:
        assert value_of(f"---\nx: {quoted(clean)}\n---\n", "x") == clean


@pytest.mark.parametrize("kind", ["repair", "running-change", "introduction", "normal", "parts"])
def test_a_fresh_draft_has_no_errors(tmp_path: Path, kind: str) -> None:
    folder = write_house(tmp_path / "bulletins")
    path = draft(read_house(folder), TODAY, {"title": "Something new", "kind": kind})
    assert path == folder / "2026/2026-001.md"
    read = read_house(folder)
    fresh = next(b for b in read.bulletins if b.number == "2026-001")
    assert (fresh.status, fresh.issued, fresh.kind) == ("draft", TODAY, kind)
    before = proof(read_house(write_house(tmp_path / "other")), TODAY)
    assert [p for p in proof(read, TODAY) if p.level == "error"] == [
        p for p in before if p.level == "error"
    ]
    assert not [p for p in read.problems if p.file == fresh.file]


def test_a_fresh_draft_in_a_house_of_its_own_has_no_problem_at_all(tmp_path: Path) -> None:
    folder = write_house(tmp_path / "bulletins", SMALL_HOUSE)
    draft(read_house(folder), TODAY, {"title": "Something new", "family": "Cairn"})
    assert [p for p in proof(read_house(folder), TODAY) if p.file.startswith("2026")] == []


def test_a_draft_in_a_house_without_parts_or_families_is_still_written(tmp_path: Path) -> None:
    files = {"reference/house.yaml": "name: Bare\n", "reference/families.yaml": ""}
    path = draft(read_house(write_house(tmp_path / "b", files)), TODAY, {"title": "First"})
    assert "family: name it" in path.read_text(encoding="utf-8")


def test_family_kind_and_component_are_taken_over(house: House) -> None:
    given_ = {"family": "cairn", "kind": "safety", "component": "door: seal"}
    text = sheet("2026-001", TODAY, given_, house)
    assert value_of(text, "family") == "Cairn"
    assert value_of(text, "kind") == "safety"
    assert value_of(text, "component") == "door: seal"


def test_an_unknown_family_is_answered_with_the_nearest(house: House) -> None:
    with pytest.raises(NotFound) as told:
        sheet("2026-001", TODAY, {"family": "Tran"}, house)
    assert "Tarn" in told.value.remedy
    with pytest.raises(NotFound) as told:
        sheet("2026-001", TODAY, {"family": "zzzzz"}, house)
    assert "Tarn, Cairn" in told.value.remedy


@pytest.mark.parametrize("number", ["2024-001", "2024.001", "2024-002"])
def test_a_number_that_is_taken_is_refused(tmp_path: Path, number: str) -> None:
    folder = write_house(tmp_path / "bulletins")
    with pytest.raises(KbError, match="taken"):
        draft(read_house(folder), TODAY, {}, number=number)


@pytest.mark.parametrize("number", ["../x", "a/b", "a b", "", "-", "ü1", "x" * 41, "."])
def test_a_number_that_is_none_is_refused_and_nothing_written(tmp_path: Path, number: str) -> None:
    folder = write_house(tmp_path / "bulletins", SMALL_HOUSE)
    if number:
        with pytest.raises(KbError, match="no bulletin number"):
            draft(read_house(folder), TODAY, {}, number=number)
        assert not list(folder.rglob("*.md"))
    else:
        assert draft(read_house(folder), TODAY, {}, number=number).stem == "2026-001"


def test_a_file_that_does_not_read_keeps_its_number(tmp_path: Path) -> None:
    files = {**SMALL_HOUSE, "2026/2026-001.md": "---\nnumber: [\n", "x/2026-002.md": "nothing\n"}
    folder = write_house(tmp_path / "bulletins", files)
    assert draft(read_house(folder), TODAY, {}).stem == "2026-003"
    with pytest.raises(KbError, match="taken"):
        draft(read_house(folder), TODAY, {}, number="2026-002")


# Copies

FULL = """\
---
# last looked at by the trainer
number: 2026-014   # the number
title: 'Hums: moves no water'
kind: repair
issued: 2026-03-02
revised: 2026-04-01
status: withdrawn # see below
supersedes:
- 2025-001
- 2025-002

# where it applies
family: Tarn
built: 2024-W10..2025-W22     # both included
related: [2024-001,
  2024-002]
component: drain pump
x-own: "kept: as it is"
symptoms:
  - hums

---
Body stays.
number: 5
---
"""


def changed(text: str, new: str) -> tuple[list[str], list[str]]:
    """Return the lines that went and those that came."""
    old_lines, new_lines = text.splitlines(keepends=True), new.splitlines(keepends=True)
    return (
        [line for line in old_lines if line not in new_lines],
        [line for line in new_lines if line not in old_lines],
    )


def test_a_copy_changes_number_date_and_status_and_nothing_else() -> None:
    new = copied(FULL, "2026-015", TODAY)
    gone, come = changed(FULL, new)
    assert come == [
        "number: 2026-015   # the number\n",
        "issued: 2026-11-25\n",
        "status: draft # see below\n",
    ]
    assert gone == [
        "number: 2026-014   # the number\n",
        "issued: 2026-03-02\n",
        "revised: 2026-04-01\n",
        "status: withdrawn # see below\n",
        "supersedes:\n",
        "- 2025-001\n",
        "- 2025-002\n",
    ]
    assert new.endswith("---\nBody stays.\nnumber: 5\n---\n")


@pytest.mark.parametrize(
    "title", ["Plain", "It's: new", 'a "quote"', "back\\slash \\1", "# hash", "ä {x} [y]"]
)
def test_a_copy_takes_a_new_title_as_typed(title: str) -> None:
    assert value_of(copied(FULL, "2026-015", TODAY, title), "title") == title


@pytest.mark.parametrize(
    "value",
    [
        "plain words",
        "'single ''quoted'': text'",
        '"double \\"quoted\\" # no comment"',
        "C#sharp",
        "plain # comment",
        ">\n  folded\n  over lines",
        "|\n  kept\n  lines",
        "'opens here\n  ends there'",
        "",
    ],
)
def test_a_title_of_any_form_is_replaced_whole(value: str) -> None:
    text = FULL.replace("title: 'Hums: moves no water'", f"title: {value}")
    new = copied(text, "2026-015", TODAY, "New: title")
    assert value_of(new, "title") == "New: title"
    assert value_of(new, "kind") == "repair"
    assert value_of(new, "built") == "2024-W10..2025-W22"


def test_comments_behind_a_value_are_kept_and_those_inside_quotes_are_not_taken_for_one() -> None:
    text = FULL.replace("title: 'Hums: moves no water'", "title: 'a # b'  # keep")
    assert "title: New  # keep\n" in copied(text, "2026-015", TODAY, "New")


STYLES: dict[str, Callable[[str], str]] = {
    "line feeds": lambda text: text,
    "carriage returns": lambda text: text.replace("\n", "\r\n"),
    "byte-order mark": lambda text: "\ufeff" + text,
    "both": lambda text: "\ufeff" + text.replace("\n", "\r\n"),
}


@pytest.mark.parametrize("style", STYLES)
def test_a_copy_keeps_line_ends_and_byte_order_mark(tmp_path: Path, style: str) -> None:
    source = STYLES[style](SOUND_BULLETIN)
    files = {**SMALL_HOUSE, "2026/2026-014.md": source}
    folder = write_house(tmp_path / "bulletins", files)
    path = draft(read_house(folder), TODAY, {}, like="2026.014")
    assert path.stem == "2026-015"
    new = path.read_bytes().decode()
    ends = "\r\n" if "\r" in source else "\n"
    expected = source.replace("2026-014", "2026-015").replace("2026-03-02", "2026-11-25")
    expected = expected.replace(f"codes: [E21]{ends}", f"codes: [E21]{ends}status: draft{ends}")
    assert new == expected
    assert {b.number for b in read_house(folder).bulletins} == {"2026-014", "2026-015"}


@given(
    st.lists(
        st.sampled_from(
            ["# note", "", "tools: [a]", "x-y: 'z'", "minutes: 5 # five", "parts:", "  - number: A"]
        ),
        max_size=6,
    )
)
def test_whatever_stands_between_the_keys_of_a_copy_stays(lines: list[str]) -> None:
    text = "\n".join(
        ["---", "number: A-1", "component: c", *lines, "issued: 2020-01-01", "---", "x", ""]
    )
    new = copied(text, "A-2", TODAY)
    expected = text.replace("A-1", "A-2").replace("2020-01-01", "2026-11-25")
    assert new == expected.replace("11-25\n", "11-25\nstatus: draft\n")


def test_an_unknown_bulletin_to_copy_is_answered_with_the_nearest(house: House) -> None:
    with pytest.raises(NotFound) as told:
        draft(house, TODAY, {}, like="2024-01")
    assert "2024-0" in told.value.remedy


# The command


def test_the_command_prints_the_file_alone_on_standard_output(tmp_path: Path) -> None:
    folder = write_house(tmp_path / "bulletins", SMALL_HOUSE)
    told = run("draft", "Door", "sticks", "--family", "Tarn", "--house", folder)
    assert told.status == 0
    assert Path(told.out.strip()) == folder / "2026/2026-001.md"
    assert "kb proof" in told.err
    assert "title: Door sticks" in (folder / "2026/2026-001.md").read_text()


def test_the_day_decides_number_folder_and_date(tmp_path: Path) -> None:
    folder = write_house(tmp_path / "bulletins", SMALL_HOUSE)
    run("--today", "2031-02-03", "draft", "Later", "--house", folder)
    assert "issued: 2031-02-03" in (folder / "2031/2031-001.md").read_text()


def test_a_copy_takes_no_family_kind_or_component(tmp_path: Path) -> None:
    folder = write_house(tmp_path / "bulletins")
    for option in (["--family", "Tarn"], ["--kind", "normal"], ["--component", "seal"]):
        told = run("draft", "--like", "2024-001", *option, "--house", folder)
        assert told.status == 2
    assert run("draft", "--like", "2024-001", "--house", folder).status == 0


def test_an_unknown_family_or_bulletin_ends_with_status_1(tmp_path: Path) -> None:
    folder = write_house(tmp_path / "bulletins")
    assert run("draft", "x", "--family", "Tran", "--house", folder).status == 1
    assert run("draft", "--like", "2024-01", "--house", folder).status == 1
    assert run("draft", "--number", "2024-001", "--house", folder).status == 1
    assert set(folder.rglob("*.md")) == {folder / n for n in HOUSE if n.endswith(".md")}
