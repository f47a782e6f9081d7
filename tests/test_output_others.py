"""What others put into, change in or take out of an output folder, between publishes and during."""

from __future__ import annotations

import json
import os
import shutil
import socket
import stat
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from kb.errors import KbError
from kb.output import opened, swap
from kb.output.room import MEMORY, Room, folder_of
from tests.output_sites import (
    EDITIONS,
    THEIRS,
    Tree,
    fresh,
    go_back,
    publish,
    publish_changes,
    put_theirs,
    tree,
)

A, B, C = (EDITIONS[name] for name in "ABC")


@pytest.fixture
def out(tmp_path: Path) -> Path:
    """Return a site of edition A with files of others in it."""
    out = tmp_path / "site"
    publish(out, A)
    put_theirs(out)
    return out


def ours(found: Tree, edition: dict[str, bytes]) -> dict[str, bytes]:
    """Return the content of an edition's files as they are found."""
    return {path: found[path][1] for path in edition if path in found}


def still_theirs(out: Path) -> bool:
    links = (out / "latest").is_symlink() and (out / "uploads").is_dir()
    return links and all((out / path).read_bytes() == held for path, held in THEIRS.items())


# Between publishes


def test_files_of_others_stay_at_every_depth_however_often_the_site_changes(
    out: Path, tmp_path: Path
) -> None:
    for edition in "BCABAC":
        publish(out, EDITIONS[edition])
        assert tree(out) == fresh(tmp_path / "of", edition, theirs=True)
        shutil.rmtree(tmp_path / "of")


@pytest.mark.parametrize("turns", [1, 2, 3])
def test_what_others_change_and_remove_stays_so(out: Path, turns: int) -> None:
    (out / "robots.txt").write_bytes(b"changed in place")
    (out / "models/T1/own.pdf").unlink()
    (out / "models/T1/own.pdf").write_bytes(b"another file by the same name")
    shutil.rmtree(out / ".well-known")
    for edition in (B, A, B)[:turns]:
        publish(out, edition)
        assert (out / "robots.txt").read_bytes() == b"changed in place"
        assert (out / "models/T1/own.pdf").read_bytes() == b"another file by the same name"
        assert not (out / ".well-known").exists()
    (out / "robots.txt").unlink()
    for edition in (C, A):
        publish(out, edition)
        assert not (out / "robots.txt").exists()


def test_what_others_put_back_in_another_form_stays_so(out: Path) -> None:
    publish(out, B)
    (out / "robots.txt").unlink()
    (out / "robots.txt").mkdir()
    (out / "robots.txt/inside").write_bytes(b"a folder now")
    shutil.rmtree(out / ".git")
    (out / ".git").write_bytes(b"gitdir: ../elsewhere\n")
    for edition in (A, B):
        publish(out, edition)
        assert (out / "robots.txt/inside").read_bytes() == b"a folder now"
        assert (out / ".git").read_bytes() == b"gitdir: ../elsewhere\n"


NAMES = [
    b"umlaut \xc3\xa4\xc3\xb6.txt",
    b"two\nlines.txt",
    b"no utf-8 \xff\xfe",
    b" \\ \t\"'",
    b"-",
]


def test_names_of_others_can_be_anything(out: Path) -> None:
    for name in NAMES:
        for folder in (out, out / "models/T1"):
            Path(os.fsdecode(os.fsencode(folder) + b"/" + name)).write_bytes(name)
    for edition in (B, A, C):
        publish(out, edition)
        for name in NAMES:
            assert Path(os.fsdecode(os.fsencode(out / "models/T1") + b"/" + name)).read_bytes()
    removed = os.fsencode(out / "models/T1") + b"/" + NAMES[1]
    os.unlink(removed)  # noqa: PTH108
    for edition in (A, B):
        publish(out, edition)
        assert not os.path.lexists(removed)


def test_pipes_and_sockets_of_others_are_not_waited_for(out: Path) -> None:
    os.mkfifo(out / "pipe")
    with socket.socket(socket.AF_UNIX) as listening:
        listening.bind(os.path.relpath(out / "s"))
        for edition in (B, A):
            publish(out, edition)
    assert stat.S_ISFIFO((out / "pipe").stat().st_mode)
    assert stat.S_ISSOCK((out / "s").stat().st_mode)


@pytest.mark.parametrize("after", [B, C])
def test_a_folder_of_ours_that_others_made_a_link_leads_nowhere_we_write(
    out: Path, tmp_path: Path, after: dict[str, bytes]
) -> None:
    far = tmp_path / "far"
    shutil.copytree(out / "parts", far)
    shutil.rmtree(out / "parts")
    (out / "parts").symlink_to(far)
    before = tree(far)
    if any(path.startswith("parts/") for path in after):
        with pytest.raises(KbError, match="in the way"):
            publish(out, after)
    else:
        publish(out, after)
        publish(out, {**after, "more.html": b"more"})
    assert tree(far) == before
    assert (out / "parts").is_symlink()


def test_a_file_of_ours_that_others_made_a_folder_is_not_removed_with_what_is_in_it(
    out: Path,
) -> None:
    (out / "turns").unlink()
    (out / "turns").mkdir()
    (out / "turns/theirs").write_bytes(b"theirs")
    publish(out, C)  # which has nothing of that name
    publish(out, {**C, "more.html": b"more"})
    assert (out / "turns/theirs").read_bytes() == b"theirs"
    with pytest.raises(KbError, match="in the way"):
        publish(out, A)
    assert (out / "turns/theirs").read_bytes() == b"theirs"


def _replace_by_a_link(out: Path) -> None:
    (out / "index.html").unlink()
    (out / "index.html").symlink_to("feed.xml")


def _empty(out: Path) -> None:
    for path in (out / name for name in {".kb-site", *(name.split("/")[0] for name in A)}):
        if path.is_dir():
            shutil.rmtree(path)
        else:
            path.unlink()


def _write(name: str, content: bytes, anew: bool) -> Callable[[Path], None]:
    def write(out: Path) -> None:
        if anew:
            (out / name).unlink()
        (out / name).write_bytes(content)

    return write


HANDS: dict[str, Callable[[Path], object]] = {
    "edits a page in place": _write("style.css", b"by hand", anew=False),
    "replaces a page": _write("style.css", b"by hand", anew=True),
    "writes the page that is published next": _write("index.html", B["index.html"], anew=True),
    "writes that in place": _write("index.html", B["index.html"], anew=False),
    "removes a page": lambda out: (out / "style.css").unlink(),
    "removes a folder": lambda out: shutil.rmtree(out / "models"),
    "removes what goes next": lambda out: shutil.rmtree(out / "gone"),
    "makes a page a link": _replace_by_a_link,
    "empties the folder": _empty,
    "closes the folders to readers": lambda out: (out / "models").chmod(0o700),
}


@pytest.mark.parametrize("hand", HANDS)
@pytest.mark.parametrize("rounds", [1, 2])
def test_whatever_hands_did_to_our_files_a_publish_gives_what_a_first_one_gives(
    out: Path, tmp_path: Path, hand: str, rounds: int
) -> None:
    publish(out, B)
    publish(out, A)  # the twin is B with some to catch up
    HANDS[hand](out)
    modes = {path: mode for path, (mode, _) in tree(out).items()}
    for _ in range(rounds):
        publish(out, B)
    found, expected = tree(out), fresh(tmp_path / "of", "B", theirs=True)
    if hand in {"removes a folder", "empties the folder"}:
        del expected["models/T1/own.pdf"]
    if hand.startswith("closes"):
        assert found["models"][0] == modes["models"]
        expected["models"] = found["models"]
    assert found == expected


def test_where_the_lists_are_lost_what_is_not_as_it_will_be_is_nobodys_and_stays(out: Path) -> None:
    shutil.rmtree(out / ".kb-site")
    before = tree(out)
    with pytest.raises(KbError, match="in the way"):
        publish(out, B)
    assert tree(out) == before


def test_a_site_restored_from_a_copy_is_published_over_as_it_stands(
    out: Path, tmp_path: Path
) -> None:
    shutil.copytree(out, tmp_path / "copy", symlinks=True)
    publish(out, B)
    shutil.rmtree(out)
    (tmp_path / "copy").rename(out)
    publish(out, C)
    assert tree(out) == fresh(tmp_path / "of", "C", theirs=True)


def test_what_another_machine_published_in_between_is_no_twin_of_ours(
    out: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    publish(out, B)
    with monkeypatch.context() as elsewhere:
        elsewhere.setattr("kb.output.is_mounted", lambda out: True)
        publish(out, A)  # file by file, as where the folder is mounted
    with opened(out) as output:
        output.finish(A)  # nothing is put: all is as it was
    assert tree(out) == fresh(tmp_path / "of", "A", theirs=True)
    publish(out, C)
    go_back(out)
    assert tree(out) == fresh(tmp_path / "or", "A", theirs=True)


def test_files_of_others_are_not_gone_back_on(out: Path) -> None:
    (out / "late.txt").write_bytes(b"one")
    publish(out, B)
    (out / "late.txt").write_bytes(b"two")
    (out / "robots.txt").unlink()
    publish(out, C, keep=2)
    go_back(out)
    assert (out / "late.txt").read_bytes() == b"two"
    assert not (out / "robots.txt").exists()
    (out / "late.txt").unlink()
    (out / "robots.txt").write_bytes(b"again")
    go_back(out)
    assert ours(tree(out), A) == A
    assert not (out / "late.txt").exists()
    assert (out / "robots.txt").read_bytes() == b"again"


def test_what_others_put_where_the_older_edition_had_a_page_is_not_overwritten(out: Path) -> None:
    publish(out, C)
    (out / "gone").write_bytes(b"theirs")
    with pytest.raises(KbError, match="in the way"):
        go_back(out)
    assert (out / "gone").read_bytes() == b"theirs"
    assert ours(tree(out), C) == C


# While a publish runs


def _while_publishing(out: Path, act: Callable[[], object], late: bool) -> None:
    """Publish B; *act* after all is made ready, or in the very moment of the exchange."""
    if not late:
        with opened(out) as output:
            for path, content in B.items():
                output.put(path, content)
            act()
            output.finish(B)
        return
    exchange = swap._at_once

    def acting(one: Path, other: Path) -> bool:
        act()
        return exchange(one, other)

    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(swap, "_at_once", acting)
        publish(out, B)


@pytest.mark.parametrize("late", [False, True])
def test_what_others_do_while_a_publish_runs_is_not_lost(out: Path, late: bool) -> None:
    def act() -> None:
        (out / "added.txt").write_bytes(b"added")
        (out / "models/T2/added.txt").write_bytes(b"added")
        (out / "theirs/deep").mkdir(parents=True)
        (out / "theirs/deep/file").write_bytes(b"deep")
        (out / "robots.txt").unlink()
        (out / "robots.txt").write_bytes(b"robots replaced")
        (out / "models/T1/own.pdf").unlink()
        (out / "uploads/one").write_bytes(b"1")

    _while_publishing(out, act, late)
    for edition in (B, A, C):
        assert (out / "added.txt").read_bytes() == b"added"
        assert (out / "models/T2/added.txt").read_bytes() == b"added"
        assert (out / "theirs/deep/file").read_bytes() == b"deep"
        assert (out / "robots.txt").read_bytes() == b"robots replaced"
        assert (out / "uploads/one").read_bytes() == b"1"
        assert not (out / "models/T1/own.pdf").exists()
        publish(out, edition)


@pytest.mark.parametrize("late", [False, True])
def test_modes_that_others_give_to_folders_while_a_publish_runs_stay(out: Path, late: bool) -> None:
    _while_publishing(out, lambda: (out / "models/T2").chmod(0o711), late)
    for edition in (B, A, B):
        assert stat.S_IMODE((out / "models/T2").stat().st_mode) == 0o711
        publish(out, edition)


def test_what_comes_in_the_way_while_a_publish_runs_stops_it(out: Path) -> None:
    before = ours(tree(out), A)
    with pytest.raises(KbError, match="in the way"):
        _while_publishing(out, lambda: (out / "new").write_bytes(b"theirs"), late=False)
    assert (out / "new").read_bytes() == b"theirs"
    assert ours(tree(out), A) == before


def test_nothing_of_ours_is_harmed_by_what_comes_in_its_way_in_the_last_moment(out: Path) -> None:
    def act() -> None:
        (out / "new").mkdir()
        (out / "new/page.html").mkdir()
        (out / "new/page.html/inside").write_bytes(b"x")
        (out / "new/beside").write_bytes(b"beside")

    _while_publishing(out, act, late=True)
    assert ours(tree(out), B) == B
    assert (out / "new/beside").read_bytes() == b"beside"


# Rights, owners, places


@pytest.fixture
def umask() -> Iterator[Callable[[int], int]]:
    before = os.umask(0o022)
    yield os.umask
    os.umask(before)


@pytest.mark.parametrize(("mask", "file", "folder"), [(0o022, 0o644, 0o755), (0o027, 0o640, 0o750)])
def test_files_can_be_read_by_whom_the_umask_lets(
    tmp_path: Path, umask: Callable[[int], int], mask: int, file: int, folder: int
) -> None:
    umask(mask)
    out = tmp_path / "site"
    for edition in (A, B):
        publish(out, edition)
        for path in [out, *out.rglob("*")]:
            assert stat.S_IMODE(path.stat().st_mode) == (folder if path.is_dir() else file)
    assert stat.S_IMODE(folder_of(out).stat().st_mode) == 0o700


def test_folders_keep_the_modes_that_others_gave_them(out: Path) -> None:
    modes = {"": 0o2775, "uploads": 0o1777, ".well-known": 0o711, "models": 0o755, "data/0": 0o700}
    for path, mode in modes.items():
        (out / path).chmod(mode)
    for edition in (B, A, B):
        publish(out, edition)
        assert {p: stat.S_IMODE((out / p).stat().st_mode) for p in modes} == modes


ROOT_ALONE = pytest.mark.skipif(
    not hasattr(os, "geteuid") or os.geteuid() != 0, reason="only root can give files to others"
)


@ROOT_ALONE
def test_root_leaves_files_and_folders_to_their_owners(out: Path) -> None:
    owned = ["", "uploads", ".well-known", "models/T1", "robots.txt", "latest"]
    for path in owned:
        os.chown(out / path, 1234, 2345, follow_symlinks=False)
    for edition in (B, A, B):
        publish(out, edition)
        looks = [(out / path).lstat() for path in owned]
        assert {(look.st_uid, look.st_gid) for look in looks} == {(1234, 2345)}


def test_through_a_link_the_folder_that_it_leads_to_is_published_into(
    tmp_path: Path, out: Path
) -> None:
    link = tmp_path / "elsewhere/current"
    link.parent.mkdir()
    link.symlink_to(out)
    publish(link, B)
    assert link.is_symlink()
    assert ours(tree(out), B) == B
    assert [path.name for path in link.parent.iterdir()] == ["current"]


def test_a_ring_of_links_and_a_file_are_told_of_in_words(tmp_path: Path) -> None:
    (tmp_path / "one").symlink_to(tmp_path / "other")
    (tmp_path / "other").symlink_to(tmp_path / "one")
    (tmp_path / "file").write_bytes(b"theirs")
    for out in (tmp_path / "one", tmp_path / "one/site", tmp_path / "file", tmp_path / "file/site"):
        with pytest.raises(KbError, match="cannot be written to"):
            publish(out, A)
    assert (tmp_path / "file").read_bytes() == b"theirs"


def test_an_empty_folder_gives_way_to_our_files_and_stays_where_there_are_none(
    tmp_path: Path,
) -> None:
    out = tmp_path / "site"
    for path in ("index.html", "models/T1", "free"):
        (out / path).mkdir(parents=True)
    publish(out, A)
    assert ours(tree(out), A) == A
    assert (out / "free").is_dir()


# What is remembered of an edition


def _remember(out: Path) -> Path:
    memory = folder_of(out) / MEMORY
    memory.write_bytes(b"what the last publish knew")
    return memory


def test_what_is_remembered_of_an_edition_is_forgotten_before_readers_have_another(
    out: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    publish(out, B, keep=2)
    publish(out, C, keep=2)
    memory = _remember(out)
    publish(out, C, keep=2)
    assert memory.exists()  # nothing changed: it is so still
    go_back(out)
    assert not memory.exists()
    _remember(out)
    publish(out, C)
    assert not memory.exists()
    _remember(out)
    with monkeypatch.context() as elsewhere:
        elsewhere.setattr("kb.output.is_mounted", lambda out: True)
        publish(out, A)
    with opened(out) as output:
        assert output.memory == memory
        assert not memory.exists()


def test_a_publish_that_changes_nothing_leaves_a_twin_that_outlives_the_machines_end(
    out: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    publish(out, B)
    publish(out, B)
    monkeypatch.setattr("kb.output.room._boot", lambda: "another time")
    monkeypatch.setattr(Room, "_begin_anew", lambda self: pytest.fail("the twin is made anew"))
    publish(out, A)
    assert ours(tree(out), A) == A


def test_a_twin_that_the_machines_end_may_have_caught_half_written_is_made_anew(
    out: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with opened(out):
        shutil.rmtree(folder_of(out) / "next/models")  # as if it had not reached the disk
        log = (folder_of(out) / "differs").read_bytes()
    (folder_of(out) / "differs").write_bytes(log)
    monkeypatch.setattr("kb.output.room._boot", lambda: "another time")
    with opened(out) as output:
        output.put("index.html", b"new")
        output.finish(A)
    assert ours(tree(out), A) == {**A, "index.html": b"new"}


# Publishing by what is new and what is gone


def test_what_changed_alone_gives_the_site_and_lists_that_all_of_it_gives(
    tmp_path: Path, out: Path
) -> None:
    for edition in "BCABAC":
        publish_changes(out, EDITIONS[edition])
        assert tree(out) == fresh(tmp_path / "of", edition, theirs=True)
        shutil.rmtree(tmp_path / "of")


def test_what_changed_alone_is_enough_where_the_list_is_of_an_older_kind(
    tmp_path: Path, out: Path
) -> None:
    shutil.rmtree(out / ".kb-site")
    (out / "kb-site.json").write_text(json.dumps({"files": dict.fromkeys(A, "")}), "utf-8")
    assert publish_changes(out, B) == len(A.keys() - B.keys()) + 1  # the old list goes as well
    assert tree(out) == fresh(tmp_path / "of", "B", theirs=True)
