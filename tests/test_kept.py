"""Reading again only what changed: the house is always as if all of it had been read anew."""

from __future__ import annotations

import os
import pickle
from collections.abc import Callable
from concurrent.futures import BrokenExecutor, Future, ProcessPoolExecutor
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

import kb.together
from kb.bulletinfile import read_file
from kb.faults import Faults
from kb.house import read_again, read_house
from kb.kept import Changes, Kept, KeptHouse, changes
from kb.tables import by_line, read_kits, read_parts
from tests.conftest import SMALL_HOUSE, SOUND_BULLETIN, MakeHouse

OLD = 1_700_000_000  # seconds; long enough ago that a file's time can be trusted
PARTS = "reference/parts.csv"
KITS = "reference/kits.csv"
FAMILIES = "reference/families.yaml"


def numbered(number: str) -> str:
    return SOUND_BULLETIN.replace("2026-014", number)


def aged(folder: Path) -> Path:
    for path in folder.rglob("*"):
        os.utime(path, (OLD, OLD))
    return folder


@pytest.fixture
def folder(make_house: MakeHouse) -> Path:
    files = {f"2026/{n}.md": numbered(n) for n in ("2026-001", "2026-002", "2026-003")}
    return aged(make_house({**files, "2026/2026-001/pump.svg": "<svg/>"}))


def write(folder: Path, name: str, text: str, time: int = OLD + 60) -> None:
    path = folder / name
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(text.encode())
    os.utime(path, (time, time))


def again(folder: Path, kept: KeptHouse) -> KeptHouse:
    """Read again from what was kept, pickled between; hold it to a reading of everything."""
    house, now = read_again(folder, pickle.loads(pickle.dumps(kept)))
    assert house == read_house(folder)
    return now


@pytest.fixture
def parsed(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The names of the files taken apart from now on."""
    names: list[str] = []

    def noted(data: bytes, name: str, families: Any) -> Kept:
        names.append(name)
        return read_file(data, name, families)

    monkeypatch.setattr(kb.together, "read_file", noted)
    return names


def test_nothing_changed_nothing_is_taken_apart(folder: Path, parsed: list[str]) -> None:
    _, kept = read_again(folder, KeptHouse())
    parsed.clear()
    house, now = read_again(folder, kept)
    assert parsed == [] and now == kept
    assert now.tables[PARTS] is kept.tables[PARTS]
    assert house.bulletins == read_house(folder).bulletins
    assert changes(kept, now) == Changes((), (), ())


def test_a_changed_file_alone_is_taken_apart(folder: Path, parsed: list[str]) -> None:
    _, kept = read_again(folder, KeptHouse())
    write(folder, "2026/2026-002.md", numbered("2026-002").replace("kind: repair", "kind: none"))
    write(folder, "2026/2026-009.md", numbered("2026-009"))
    (folder / "2026/2026-003.md").unlink()
    parsed.clear()
    house, now = read_again(folder, kept)
    assert parsed == ["2026/2026-002.md", "2026/2026-009.md"]
    assert house == read_house(folder)
    assert changes(kept, now) == Changes(
        ("2026/2026-009.md",), ("2026/2026-002.md",), ("2026/2026-003.md",)
    )


def test_another_time_alone_is_no_change(folder: Path, parsed: list[str]) -> None:
    _, kept = read_again(folder, KeptHouse())
    parsed.clear()
    os.utime(folder / "2026/2026-002.md", (OLD + 5, OLD + 5))
    os.utime(folder / PARTS, (OLD + 5, OLD + 5))
    _, now = read_again(folder, kept)
    assert parsed == [] and changes(kept, now) == Changes((), (), ())


def test_a_change_within_the_same_moment_is_seen(make_house: MakeHouse) -> None:
    folder = make_house({"2026/2026-001.md": numbered("2026-001")})
    path = folder / "2026/2026-001.md"
    _, kept = read_again(folder, KeptHouse())
    look = path.stat()
    path.write_text(numbered("2026-001").replace("2026-03-02", "2026-03-03"), encoding="utf-8")
    os.utime(path, ns=(look.st_atime_ns, look.st_mtime_ns))
    assert path.stat().st_size == look.st_size
    house, now = read_again(folder, kept)
    assert house.bulletins[0].issued.day == 3
    assert changes(kept, now).changed[:1] == ("2026/2026-001.md",)


def test_a_changed_picture_is_a_change(folder: Path) -> None:
    _, kept = read_again(folder, KeptHouse())
    write(folder, "2026/2026-001/pump.svg", "<svg></svg>")
    assert changes(kept, again(folder, kept)).changed == ("2026/2026-001/pump.svg",)


def test_a_renamed_family_is_looked_for_in_every_bulletin(folder: Path) -> None:
    _, kept = read_again(folder, KeptHouse())
    write(folder, FAMILIES, SMALL_HOUSE[FAMILIES].replace("Tarn:", "TARN:"))
    house, _ = read_again(folder, kept)
    assert house == read_house(folder)
    assert house.bulletins[0].where[0].families == ("TARN",)


def test_what_another_version_kept_is_left_aside(folder: Path, parsed: list[str]) -> None:
    _, kept = read_again(folder, KeptHouse())
    parsed.clear()
    older = KeptHouse(kept.families, kept.looks, kept.files, kept.tables, "0.0.1")
    read_again(folder, older)
    assert len(parsed) == 3


def test_of_two_with_one_number_the_second_is_told_whichever_changed(folder: Path) -> None:
    _, kept = read_again(folder, KeptHouse())
    write(folder, "2026/2026-001.md", numbered("2026-003"))
    kept = again(folder, kept)
    assert [p.file for p in read_again(folder, kept)[0].problems] == ["2026/2026-003.md"]
    write(folder, "2026/2026-001.md", numbered("2026-001"), OLD + 120)
    assert not read_again(folder, again(folder, kept))[0].problems


def test_an_empty_table_stays_one(folder: Path) -> None:
    write(folder, KITS, "")
    kept = again(folder, KeptHouse())
    again(folder, kept)


def test_what_cannot_be_read_is_not_kept(folder: Path) -> None:
    _, kept = read_again(folder, KeptHouse())
    path = folder / "2026/2026-002.md"
    path.unlink()
    path.symlink_to(folder / "2026/nothing.md")
    assert "2026/2026-002.md" not in again(folder, kept).files


LINES = (
    "HR-1,pump,,current,,,,,",
    "HR-2,hose,,gone,HR-1,same,TD45A,2024-W10,",
    "HR-2,hose,,gone,HR-1,same,TD45B,,note",
    "hr 1,pump again,,,,,,,",
    "HR-3,cap,,wrong,,,,never,",
    "HR-4,=cap,,,,,,,",
    "HR-5,-cap,,,,,,,",
    'HR-6,"cap, blue",,,,,,,',
    'HR-7,"cap,,,,,,,',
    'red",cap,,,,,,,',
    'HR-8,ca"p,,,,,,,',
    "HR-9,too,few",
    ",nameless,,,,,,,",
    "   ",
    "",
)
HEADS = st.sampled_from(
    [
        "number,name,component,status,replaced_by,relation,models,since,note",
        "name,number,component,status,replaced_by,relation,models,since,note",
        "number,name,component,status,replaced_by,relation,models,since,x-own",
        "",
    ]
)
TEXTS = st.builds(
    lambda head, lines: "\n".join([head, *lines]), HEADS, st.lists(st.sampled_from(LINES))
)
KIT_TEXTS = st.lists(
    st.sampled_from(["K-1,HR-1,2", "K-1,hr1,", "K-2,HR-1,none", ",HR-2,1", 'K-3,"HR\n1",1', "K-1"])
).map(lambda lines: "\n".join(["kit,number,quantity", *lines]))


def _as_read(read: Callable[..., Any], text: str, known: Any) -> tuple[Any, Any]:
    faults = Faults(PARTS)
    return read(text, faults, known), faults.problems


@pytest.mark.parametrize(("read", "texts"), [(read_parts, TEXTS), (read_kits, KIT_TEXTS)])
@settings(deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=st.data())
def test_a_table_with_known_lines_reads_as_without(read: Any, texts: Any, data: Any) -> None:
    old = data.draw(texts)
    new = old.partition("\n")[0] + "\n" + data.draw(texts).partition("\n")[2]
    found, problems = _as_read(read, old, {})
    known = by_line(old, found, {problem.line for problem in problems})
    if old.partition("\n")[0].strip():
        assert _as_read(read, new, known) == _as_read(read, new, {})


def test_a_known_line_is_the_same_row_where_it_stands_on_the_same_line(folder: Path) -> None:
    house, kept = read_again(folder, KeptHouse())
    text = (folder / PARTS).read_text("utf-8") + "HR-900-1,new thing,,,,,,,\n"
    write(folder, PARTS, text)
    now, _ = read_again(folder, kept)
    assert now.parts[-1].number == "HR-900-1"
    assert all(a is b for a, b in zip(house.parts, now.parts, strict=False))


def test_more_problems_than_are_told_are_looked_for_again(folder: Path) -> None:
    head = "number,name,component,status,replaced_by,relation,models,since,note\n"
    wrong = [f"HR-{n},thing,,nonsense,,,,,\n" for n in range(250)]
    write(folder, PARTS, head + "".join(wrong))
    _, kept = read_again(folder, KeptHouse())
    write(folder, PARTS, head + "".join(wrong[100:]), OLD + 120)
    again(folder, kept)


def test_several_processes_read_the_same_house(folder: Path) -> None:
    for number in range(100, 160):
        text = numbered(f"2026-{number}")
        write(folder, f"2026/{number}.md", text.replace("kind: repair", "kind: x" * (number % 7)))
    house, kept = read_again(folder, KeptHouse())
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(kb.together, "MANY", 10)
        patch.setattr(kb.together, "_CHUNK", 7)
        assert read_again(folder, KeptHouse(), processes=2) == (house, kept)
        write(folder, "2026/120.md", numbered("2026-120").replace("2026-03-02", "2026-03-03"))
        assert read_again(folder, kept, processes=2)[0] == read_house(folder)


@pytest.mark.parametrize("trouble", [OSError, BrokenExecutor, NotImplementedError])
def test_where_no_process_can_be_started_this_one_reads_all(
    folder: Path, monkeypatch: pytest.MonkeyPatch, trouble: type[Exception]
) -> None:
    class NoPool(ProcessPoolExecutor):
        def submit(self, *args: Any, **kwargs: Any) -> Any:
            raise trouble

    monkeypatch.setattr(kb.together, "MANY", 1)
    monkeypatch.setattr(kb.together, "ProcessPoolExecutor", NoPool)
    assert read_again(folder, KeptHouse(), processes=2)[0] == read_house(folder)


def test_what_a_killed_process_leaves_this_one_reads(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    class Killed(ProcessPoolExecutor):
        def submit(self, *args: Any, **kwargs: Any) -> Any:
            future: Future[Any] = Future()
            future.set_running_or_notify_cancel()
            future.set_exception(BrokenExecutor())
            return future

    monkeypatch.setattr(kb.together, "MANY", 1)
    monkeypatch.setattr(kb.together, "ProcessPoolExecutor", Killed)
    assert read_again(folder, KeptHouse(), processes=2)[0] == read_house(folder)
