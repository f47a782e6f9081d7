"""Full disks, folders that may not be written to, and mounts: real ones where root runs this."""

from __future__ import annotations

import os
import shutil
import subprocess
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from kb.errors import KbError
from kb.output import opened
from kb.output.room import folder_of
from kb.output.trouble import is_mounted
from tests.output_sites import EDITIONS, THEIRS, fresh, go_back, publish, put_theirs, tree

A, B = EDITIONS["A"], EDITIONS["B"]
USER = 4321  # nobody in particular
BIG = {**B, **{f"big/{number}.bin": bytes(30_000) for number in range(40)}}  # 1.2 MB
AS_ROOT = pytest.mark.skipif(
    not hasattr(os, "geteuid") or os.geteuid() != 0, reason="only root can mount and change users"
)


def _mount(*asked: str) -> None:
    done = subprocess.run(["mount", *asked], capture_output=True, text=True, check=False)
    if done.returncode:
        pytest.skip(f"nothing can be mounted here: {done.stderr.strip()}")


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """Yield a file system of its own, of one megabyte."""
    place = tmp_path / "disk"
    place.mkdir()
    _mount("-t", "tmpfs", "-o", "size=1m", "tmpfs", str(place))
    yield place
    subprocess.run(["umount", "-R", str(place)], check=True)


def used(place: Path) -> int:
    found = os.statvfs(place)
    return (found.f_blocks - found.f_bfree) * found.f_frsize


@AS_ROOT
@pytest.mark.parametrize("before", ["nothing", "A"])
def test_on_a_full_disk_the_site_stays_and_the_room_is_given_back(
    small_disk: Path, tmp_path: Path, before: str
) -> None:
    out = small_disk / "site"
    with opened(out):
        pass  # the room is there
    if before == "A":
        publish(out, A)
        put_theirs(out)
        with opened(out):
            pass  # the twin has caught up
    found, taken = tree(out), used(small_disk)
    with pytest.raises(KbError, match="no room left") as told:
        publish(out, BIG)
    assert "free some room" in told.value.remedy
    assert tree(out) == found
    assert used(small_disk) <= taken + 8192
    publish(out, B)
    assert tree(out) == fresh(tmp_path, "B", theirs=before == "A")


@AS_ROOT
def test_a_disk_that_is_full_to_the_last_byte_is_survived(small_disk: Path, tmp_path: Path) -> None:
    out = small_disk / "site"
    publish(out, A)
    found = tree(out)
    filler = small_disk / "filler"
    left = 4096 * 40
    while left >= 0:  # from some room to none at all
        free = os.statvfs(small_disk)
        filler.write_bytes(bytes(max(0, free.f_bavail * free.f_frsize - left)))
        try:
            publish(out, B)
        except KbError as error:
            assert "no room left" in error.message
            assert tree(out) == found
        else:
            filler.unlink()
            publish(out, A)
            assert tree(out) == found
        filler.unlink(missing_ok=True)
        left -= 4096 * 4
    publish(out, B)
    assert tree(out) == fresh(tmp_path, "B")


@AS_ROOT
def test_a_folder_at_which_something_is_mounted_is_published_into_file_by_file(
    small_disk: Path, tmp_path: Path
) -> None:
    put_theirs(small_disk)
    for edition in "ABCA":
        publish(small_disk, EDITIONS[edition])
        assert tree(small_disk) == fresh(tmp_path / edition, edition, theirs=True)
        shutil.rmtree(tmp_path / edition)
    with pytest.raises(KbError, match="file by file"):
        go_back(small_disk)
    with pytest.raises(KbError, match="no room left"):
        publish(small_disk, BIG)
    assert tree(small_disk) == fresh(tmp_path / "last", "A", theirs=True)


@AS_ROOT
@pytest.mark.parametrize("inside", ["", "uploads", "with space"])
def test_a_folder_mounted_from_the_same_disk_is_noticed_at_the_site_and_in_it(
    tmp_path: Path, inside: str
) -> None:
    out, far = tmp_path / "site", tmp_path / "far"
    publish(out, A)
    far.mkdir()
    (far / "theirs").write_bytes(b"x")
    place = out / inside
    place.mkdir(exist_ok=True)
    assert not is_mounted(out)
    _mount("--bind", str(far), str(place))
    try:
        assert is_mounted(out)
        publish(out, B)
        assert (place / "theirs").read_bytes() == b"x"
        assert (out / "index.html").read_bytes() == B["index.html"]
        assert (far / "index.html").exists() == (inside == "")
    finally:
        subprocess.run(["umount", str(place)], check=True)


@AS_ROOT
def test_a_site_in_a_layer_of_a_containers_disk_is_published_over_file_by_file(
    small_disk: Path, tmp_path: Path
) -> None:
    lower, merged = tmp_path / "lower", tmp_path / "merged"
    for place in (lower, merged, small_disk / "upper", small_disk / "work"):
        place.mkdir()
    publish(lower / "site", A)
    layers = f"lowerdir={lower},upperdir={small_disk}/upper,workdir={small_disk}/work"
    _mount("-t", "overlay", "-o", layers, "overlay", str(merged))
    try:
        for edition in "BCA":
            publish(merged / "site", EDITIONS[edition])
            assert tree(merged / "site") == fresh(tmp_path / edition, edition)
    finally:
        subprocess.run(["umount", str(merged)], check=True)


@AS_ROOT
def test_a_disk_that_can_only_be_read_is_told_of(small_disk: Path) -> None:
    out = small_disk / "site"
    publish(out, A)
    found = tree(out)
    _mount("-o", "remount,ro", str(small_disk))
    for place in (out, small_disk / "new"):
        with pytest.raises(KbError, match="Read-only file system"):
            publish(place, B)
    assert tree(out) == found


# Another user


def _as_user(out: Path, edition: str) -> str:
    """Publish as another user, in a child; return what was told, "" where all went well."""
    read, write = os.pipe()
    child = os.fork()
    if not child:
        told = "stopped"
        try:
            os.setgroups([])
            os.setgid(USER)
            os.setuid(USER)
            publish(out, EDITIONS[edition])
            told = ""
        except BaseException as error:
            told = f"{type(error).__name__}: {error}"
        finally:
            os.write(write, told.encode())
            os._exit(0)
    os.close(write)
    with open(read, encoding="utf-8") as file:
        found = file.read()
    os.waitpid(child, 0)
    assert not found or found.startswith("KbError: "), found
    return found


@pytest.fixture
def shared(tmp_path: Path) -> Iterator[Path]:
    """Yield a folder that everybody can get to and the other user owns."""
    publish(tmp_path / "all is imported by this", A)  # the other user may see no library
    place = Path(tempfile.gettempdir()) / f"kb-shared-{os.getpid()}"
    place.mkdir(mode=0o755)
    os.chown(place, USER, USER)
    yield place
    shutil.rmtree(place)


def _owned_by_root(out: Path) -> None:
    (out / "uploads/locked").write_bytes(b"root's")
    (out / "uploads/locked").chmod(0o600)


def _closed(out: Path) -> None:
    os.chown(out / "uploads", 0, 0)
    (out / "uploads").chmod(0o700)


def _not_to_be_listed(out: Path) -> None:
    (out / "uploads/drop").mkdir(mode=0o733)
    (out / "uploads/drop").chmod(0o733)


@AS_ROOT
@pytest.mark.parametrize("others", [_owned_by_root, _closed, _not_to_be_listed])
def test_what_belongs_to_other_users_is_left_where_it_is(
    shared: Path, others: Callable[[Path], None]
) -> None:
    out = shared / "site"
    assert _as_user(out, "A") == ""
    put_theirs(out)
    others(out)
    looks = {path: path.lstat() for path in (out / "uploads").rglob("*")}
    for edition in "BAB":
        assert _as_user(out, edition) == ""
        found = tree(out)
        assert all(found[path][1] == held for path, held in EDITIONS[edition].items())
        assert all((out / path).read_bytes() == held for path, held in THEIRS.items())
        assert all(os.path.samestat(path.lstat(), look) for path, look in looks.items())
    assert not (out / ".kb-next").exists()


@AS_ROOT
def test_without_rights_nothing_changes_and_what_is_missing_is_told(shared: Path) -> None:
    out = shared / "site"
    publish(out, A)
    before, room = tree(out), tree(folder_of(out))
    assert "cannot be written to: Permission denied" in _as_user(out, "B")
    shutil.rmtree(folder_of(out))
    assert _as_user(out, "B")
    os.chown(shared, 0, 0)
    for place in (out, shared / "new"):
        assert "cannot be written to: Permission denied" in _as_user(place, "B")
    assert tree(out) == before
    assert room
    publish(out, B)
    assert (out / "index.html").read_bytes() == B["index.html"]


@AS_ROOT
def test_a_folder_of_ones_own_below_one_that_is_not_is_published_file_by_file(
    shared: Path, tmp_path: Path
) -> None:
    out = shared / "site"
    out.mkdir()
    os.chown(out, USER, USER)
    os.chown(shared, 0, 0)
    for edition in "ABC":
        assert _as_user(out, edition) == ""
        assert tree(out) == fresh(tmp_path / edition, edition)
    assert [path.name for path in shared.iterdir()] == ["site"]
