from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest

from kb.errors import KbError
from kb.house import read_house
from kb.output.listing import FOLDER, listed
from kb.publish import Manner, publish, refuse_mixing
from kb.standing import standing, superseded_by
from tests.deskhouse import BULLETINS, HOUSE, run, write_house

TODAY = date(2026, 11, 25)


@pytest.fixture
def house(tmp_path: Path) -> Path:
    return write_house(tmp_path / "bulletins")


def site(house: Path, out: Path) -> dict[str, object]:
    return publish(read_house(house), TODAY, out).as_json()


def files(folder: Path) -> dict[str, bytes]:
    return {
        str(path.relative_to(folder)): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


def shown(folder: Path) -> dict[str, bytes]:
    """Return the files below a site but for the lists of them."""
    return {name: held for name, held in files(folder).items() if not name.startswith(FOLDER)}


def times(folder: Path) -> dict[str, int]:
    return {str(p.relative_to(folder)): p.stat().st_mtime_ns for p in folder.rglob("*")}


def test_figures_say_what_lies_in_the_folder(house: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    done = site(house, out)
    written = shown(out)
    pages = [name for name in written if name.endswith(".html")]
    bulletins = [p for p in (out / "bulletins").iterdir() if p.name in _numbers(house)]
    assert done["pages"] == len(pages)
    assert done["bulletins"] == len(bulletins) == len(_numbers(house)) - 1  # all but the draft
    assert done["written"] == len(written)
    assert (done["unchanged"], done["removed"]) == (0, 0)


def _numbers(house: Path) -> set[str]:
    return {bulletin.number for bulletin in read_house(house).bulletins}


def test_drafts_have_no_page_and_everything_else_has_one(house: Path, tmp_path: Path) -> None:
    site(house, tmp_path / "out")
    content = read_house(house)
    superseded = superseded_by(content.bulletins)
    states = {standing(b, superseded) for b in content.bulletins}
    assert states == {"in-force", "draft", "withdrawn", "superseded"}
    for bulletin in content.bulletins:
        page = tmp_path / "out/bulletins" / bulletin.number / "index.html"
        assert page.is_file() == (bulletin.status != "draft")


def test_publishing_twice_in_a_row_writes_nothing_the_second_time(
    house: Path, tmp_path: Path
) -> None:
    out = tmp_path / "out"
    first = site(house, out)
    before = times(out)
    again = site(house, out)
    after = times(out)
    assert (again["written"], again["unchanged"], again["removed"]) == (0, first["written"], 0)
    assert {name: at for name, at in after.items() if (out / name).is_file()} == {
        name: at for name, at in before.items() if (out / name).is_file()
    }


def test_the_same_house_gives_the_same_site_byte_for_byte(house: Path, tmp_path: Path) -> None:
    site(house, tmp_path / "one")
    site(house, tmp_path / "other")
    assert files(tmp_path / "one") == files(tmp_path / "other")


def test_only_what_changed_is_written(house: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    site(house, out)
    before = times(out)
    path = house / "2024/2024-007.md"
    path.write_text(path.read_text().replace("Drum.", "The drum grinds on its shaft."))
    done = site(house, out)
    after = times(out)
    touched = {n for n, at in after.items() if at != before.get(n) and (out / n).is_file()}
    assert "bulletins/2024-007/index.html" in touched
    assert "bulletins/2024-001/index.html" not in touched
    assert len([n for n in touched if not n.startswith(FOLDER)]) == done["written"]


def test_pages_of_ours_that_are_stale_go_with_their_empty_folders(
    house: Path, tmp_path: Path
) -> None:
    out = tmp_path / "out"
    site(house, out)
    (house / "2024/2024-007.md").unlink()
    done = site(house, out)
    removed = done["removed"]
    assert isinstance(removed, int)
    assert removed >= 1
    assert not (out / "bulletins/2024-007").exists()


def test_files_of_others_stay_as_they_are_even_among_ours(house: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    theirs = {
        out / "robots.txt": b"theirs",
        out / "bulletins/2024-007/own.pdf": b"theirs too",
        out / ".htaccess": b"hidden",
    }
    site(house, out)
    for path, content in theirs.items():
        path.write_bytes(content)
    (house / "2024/2024-007.md").unlink()
    site(house, out)
    site(house, out)
    assert {path: path.read_bytes() for path in theirs} == theirs
    assert not (out / "bulletins/2024-007/index.html").exists()


@pytest.mark.parametrize("name", ["index.html", "bulletins/2024-001/index.html", "feed.xml"])
def test_a_file_of_others_in_the_way_of_a_page_is_never_overwritten(
    house: Path, tmp_path: Path, name: str
) -> None:
    out = tmp_path / "out"
    (out / name).parent.mkdir(parents=True)
    (out / name).write_text("theirs")
    with pytest.raises(KbError, match="not written by kb") as told:
        site(house, out)
    assert "--out" in told.value.remedy
    assert files(out) == {name: b"theirs"}


@pytest.mark.parametrize("name", ["bulletins", "models", "parts"])
@pytest.mark.parametrize("linked", [False, True])
def test_a_file_or_a_link_of_others_in_the_way_of_a_folder_is_told_of(
    house: Path, tmp_path: Path, name: str, linked: bool
) -> None:
    out, far = tmp_path / "out", tmp_path / "far"
    out.mkdir()
    far.mkdir()
    if linked:
        (out / name).symlink_to(far)
    else:
        (out / name).write_text("x")
    with pytest.raises(KbError, match="in the way"):
        site(house, out)
    assert not list(far.iterdir())
    assert [path.name for path in out.iterdir()] == [name]


def test_a_folder_published_before_its_list_was_lost_is_taken_over_where_it_is_the_same(
    house: Path, tmp_path: Path
) -> None:
    out = tmp_path / "out"
    site(house, out)
    shutil.rmtree(out / FOLDER)
    done = site(house, out)
    assert done["written"] == 0
    assert listed(out) == files(out).keys()


def test_a_site_of_an_earlier_version_is_taken_over_and_its_stale_pages_go(
    house: Path, tmp_path: Path
) -> None:
    out = tmp_path / "out"
    site(house, out)
    (out / "stale.html").write_text("old")
    (out / "theirs.html").write_text("theirs")
    former = {"files": dict.fromkeys([*shown(out), "stale.html"], "")}
    del former["files"]["theirs.html"]
    shutil.rmtree(out / FOLDER)
    (out / "kb-site.json").write_text(json.dumps(former))
    site(house, out)
    assert not (out / "stale.html").exists()
    assert not (out / "kb-site.json").exists()
    assert (out / "theirs.html").read_text() == "theirs"


BAD_LISTS = ["", "x", "../x\n", "/etc/x\n", "a\n\nb\n", "a/../../b\n"]


@pytest.mark.parametrize("text", BAD_LISTS)
def test_a_list_that_cannot_be_trusted_stops_everything(
    house: Path, tmp_path: Path, text: str
) -> None:
    out = tmp_path / "out"
    (out / FOLDER).mkdir(parents=True)
    (out / FOLDER / "-.txt").write_text(text)
    (tmp_path / "x").write_text("mine")
    with pytest.raises(KbError, match="cannot be read"):
        site(house, out)
    assert (tmp_path / "x").read_text() == "mine"
    assert list(files(out)) == [f"{FOLDER}-.txt"]


def test_a_failure_while_rendering_leaves_the_site_as_it_was(
    house: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    out = tmp_path / "out"
    site(house, out)
    before = files(out)
    path = house / "2024/2024-007.md"
    path.write_text(path.read_text().replace("Drum.", "Other."))
    calls = []

    def fail(done: int, total: int) -> None:
        calls.append((done, total))
        if done == 20:
            raise KbError("stopped on the way")

    with pytest.raises(KbError, match="stopped"):
        publish(read_house(house), TODAY, out, Manner(progress=fail))
    assert files(out) == before


def test_progress_counts_the_files_that_are_made_anew(house: Path, tmp_path: Path) -> None:
    seen: list[tuple[int, int]] = []
    manner = Manner(progress=lambda done, total: seen.append((done, total)))
    out = tmp_path / "out"
    publish(read_house(house), TODAY, out, manner)
    count = len(shown(out))
    assert [done for done, _ in seen] == [*range(1, count + 1), count]
    assert seen[0] == (1, 0)
    seen.clear()
    publish(read_house(house), TODAY, out, manner)
    assert seen == [(0, 0)]


@pytest.mark.parametrize("inside", ["", "site", "reference", "2024/deep/er"])
def test_an_output_folder_in_the_house_or_equal_to_it_is_refused(house: Path, inside: str) -> None:
    before = files(house)
    told = run("publish", "--house", house, "--out", house / inside)
    assert told.status == 1
    assert "lies in the house" in " ".join(told.err.split())
    assert files(house) == before


def test_an_output_folder_that_holds_the_house_is_refused(house: Path) -> None:
    for out in (house.parent, house / "..", house.parent.parent):
        with pytest.raises(KbError, match="holds the house"):
            refuse_mixing(house, out)


def test_a_link_into_the_house_is_seen_through(house: Path, tmp_path: Path) -> None:
    (tmp_path / "link").symlink_to(house, target_is_directory=True)
    with pytest.raises(KbError, match="lies in the house"):
        refuse_mixing(house, tmp_path / "link")


def test_a_folder_beside_the_house_is_allowed(house: Path) -> None:
    refuse_mixing(house, house.parent / "bulletins-site")
    refuse_mixing(house, house.parent / "site/public")


def test_where_nothing_can_be_written_is_said_in_words(house: Path, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("x")
    told = run("publish", "--house", house, "--out", tmp_path / "file" / "site", "--json")
    assert told.status == 1
    assert "cannot be written to" in told.err
    assert "--out" in told.err
    assert told.json["written"] == 0


# The command


def test_publish_gives_the_figures_of_the_contract(house: Path, tmp_path: Path) -> None:
    told = run("publish", "--json", "--house", house, "--out", tmp_path / "out")
    assert told.status == 0
    figures = told.json
    assert list(figures) == ["bulletins", "pages", "written", "unchanged", "removed", "seconds"]
    assert all(isinstance(figures[key], int) for key in list(figures)[:-1])
    assert isinstance(figures["seconds"], float)
    assert told.err == ""


def test_publish_says_in_words_what_it_did_and_where(house: Path, tmp_path: Path) -> None:
    told = run("publish", "--house", house, "--out", tmp_path / "out")
    assert told.status == 0
    assert str(tmp_path / "out") in told.out
    assert "files written, 0 unchanged, 0 removed" in told.out


def test_without_out_the_site_lies_beside_the_house(house: Path) -> None:
    assert run("publish", "--house", house).status == 0
    assert (house.parent / "site/public/index.html").is_file()


def test_publish_brings_the_store_up_to_date(house: Path, tmp_path: Path) -> None:
    assert "First question" in run("plate", "TD45A", "--house", house).err
    path = house / "2024/2024-007.md"
    path.write_text(path.read_text().replace("Drum.", "The drum grinds on its shaft."))
    run("publish", "--house", house, "--out", tmp_path / "out")
    assert run("plate", "TD45A", "--house", house).err == ""


def test_a_second_publish_of_the_same_house_reads_none_of_it(
    house: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    out = tmp_path / "out"
    first = run("publish", "--json", "--house", house, "--out", out).json
    before = times(out)
    with monkeypatch.context() as patched:
        patched.setattr("kb.publish.read_again", None)
        again = run("publish", "--json", "--house", house, "--out", out).json
    assert (again["written"], again["unchanged"]) == (0, first["written"])
    assert (again["bulletins"], again["pages"]) == (first["bulletins"], first["pages"])
    assert times(out) == before
    (out / "index.html").unlink()
    assert run("publish", "--json", "--house", house, "--out", out).json["written"] == 1


def test_packed_copies_lie_beside_the_files_and_change_with_them(
    house: Path, tmp_path: Path
) -> None:
    import gzip

    out = tmp_path / "out"
    run("publish", "--compress", "--house", house, "--out", out)
    path = house / "2024/2024-007.md"
    path.write_text(path.read_text().replace("Drum.", "The drum grinds on its shaft."))
    run("publish", "--compress", "--house", house, "--out", out)
    packed = sorted(out.rglob("*.html.gz"))
    assert packed
    for copy in packed:
        assert gzip.decompress(copy.read_bytes()) == copy.with_suffix("").read_bytes()
    run("publish", "--house", house, "--out", out)
    assert not list(out.rglob("*.gz")) + list(out.rglob("*.br"))


def test_going_back_takes_no_settings_of_a_publish(house: Path, tmp_path: Path) -> None:
    told = run("publish", "--back", "--compress", "--house", house, "--out", tmp_path / "out")
    assert told.status == 2


def test_back_returns_to_the_edition_before_and_tells_which(house: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    run("publish", "--house", house, "--out", out)
    before = files(out)
    path = house / "2024/2024-007.md"
    path.write_text(path.read_text().replace("Drum.", "The drum grinds on its shaft."))
    run("publish", "--house", house, "--out", out)
    told = run("publish", "--back", "--json", "--house", house, "--out", out)
    assert told.status == 0
    assert files(out) == before
    assert told.json["written"] >= 1
    none_left = run("publish", "--back", "--house", house, "--out", out)
    assert none_left.status == 1
    assert "--keep" in none_left.err


ERRORS: dict[str, Callable[[Path], object]] = {
    "a bulletin without a title": lambda h: (h / "2025-1.md").write_text("---\nnumber: 1\n---\n"),
    "a table that does not read": lambda h: (h / "reference/families.yaml").write_text("a: [\n"),
    "an unknown component": lambda h: (h / "b.md").write_text(
        BULLETINS["2024/2024-001.md"]
        .replace("2024-001", "2025-001")
        .replace("component: drain pump", "component: drian pmup")
    ),
    "bytes that are no text": lambda h: (h / "2025-1.md").write_bytes(b"\xff\xfe\x00\x01"),
}


@pytest.mark.parametrize("error", ERRORS)
def test_a_house_with_errors_is_not_published_and_the_site_stays_as_it_was(
    house: Path, tmp_path: Path, error: str
) -> None:
    out = tmp_path / "out"
    run("publish", "--house", house, "--out", out)
    before = times(out)
    ERRORS[error](house)
    told = run("publish", "--json", "--house", house, "--out", out)
    assert told.status == 1
    assert "kb proof" in told.err
    assert "nothing was published" in told.json["error"]
    assert (told.json["written"], told.json["removed"]) == (0, 0)
    assert times(out) == before
    proof = run("proof", "--json", "--house", house)
    assert proof.status == 1
    assert proof.json["problems"][0]["file"] in told.err


@pytest.mark.parametrize("error", ERRORS)
def test_proof_lists_problems_with_the_keys_of_the_contract(house: Path, error: str) -> None:
    ERRORS[error](house)
    told = run("proof", "--json", "--house", house)
    assert told.status == 1
    assert list(told.json) == ["problems"]
    for problem in told.json["problems"]:
        assert list(problem) == ["file", "line", "level", "rule", "message", "remedy"]
        assert problem["level"] in {"error", "warning"}
        assert isinstance(problem["line"], int)
        assert problem["line"] >= 1
        assert problem["remedy"]


def test_warnings_alone_stop_neither_proof_nor_publish(house: Path, tmp_path: Path) -> None:
    problems = run("proof", "--json", "--house", house).json["problems"]
    assert {problem["level"] for problem in problems} <= {"warning"}
    assert run("proof", "--house", house).status == 0
    assert run("publish", "--house", house, "--out", tmp_path / "out").status == 0


def test_a_sound_house_is_said_to_be_sound(tmp_path: Path) -> None:
    sound = {name: text for name, text in HOUSE.items() if name.startswith("reference")}
    told = run("proof", "--house", write_house(tmp_path / "bulletins", sound))
    assert told.status == 0
    assert told.out.splitlines()[-1] == "Nothing is wrong."


def test_an_address_that_would_leave_the_folder_is_refused(
    house: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from kb.pages import Asset

    for path in ("../out.txt", "/etc/out.txt", "a/../../b", "a\\b"):
        made = iter([Asset(path, b"x")])
        monkeypatch.setattr("kb.making.building.assets", lambda made=made: made)
        with pytest.raises(KbError, match="would leave"):
            site(house, tmp_path / "out")
    assert not (tmp_path / "out.txt").exists()
