"""The room beside an output folder, in which the next edition of a site is made ready.

For ``site/public`` it is ``site/.public.kb/``, which only its owner may enter:

=========== ===================================================================================
lock        held by whoever publishes; the system lets go of it when that process ends
next/       the twin of the live tree (see `kb.output.twin`)
differs     the paths at which the twin may differ from the live tree, noted before each is touched
aside       the live tree for a moment, where the system cannot exchange two folders at once
seen/       what each of the two trees was seen to hold (see `kb.output.seen`)
kept/       older editions (see `kb.output.kept`)
made        a note on the last publish, and what it knew in `known` (see `kb.making.kept`)
=========== ===================================================================================

Whatever stops a publish, the room tells the next one where it stands: outside of the paths noted,
the twin is the same as the live tree, whichever of the two has the name of the output folder.
"""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from kb.onewriter import hold
from kb.output import swap
from kb.output.listing import FOLDER
from kb.output.seen import recall, remember
from kb.output.settling import settle, settle_everything
from kb.output.tree import Tree
from kb.output.twin import Twin

MEMORY = "made"  # what the last publish knew; see `kb.making.kept`
_OPEN, _CLOSED = "open", "closed"
_END = "\0"  # behind each path of the log: names of others can hold everything else


class Room:
    """The room of the folder *out*, locked for whoever holds it."""

    def __init__(self, out: Path) -> None:
        self.out = out
        self.folder = folder_of(out)
        self.twin = Twin(self.folder / "next", out)
        self._aside = self.folder / "aside"
        self._differs = self.folder / "differs"
        self._seen = self.folder / "seen"
        self._noted: dict[str, None] = {}
        self._unsettled: set[str] = set()
        self._all_unsettled = False
        self.lasting = True  # what is made outlives the machine's end
        self._log = -1

    def recover(self) -> None:
        """Finish or undo an exchange that was stopped on its way, before anybody looks: OSError."""
        swap.recover(self.twin.folder, self.out, self._aside)

    def prepare(self) -> bool:
        """Make the twin the same as the live tree, whatever came before: OSError.

        Return False where the live tree is not what the last publish left.
        """
        noted = self._read_log() if self.out.is_dir() else None
        if noted is None:
            self._begin_anew()
            return self.out.is_dir()
        self._open_log(noted)
        self._mirror(noted)
        if _lists_in(self.out) != _lists_in(self.twin.folder):
            self._begin_anew()
            return False
        self._open_log(())
        return True

    def _mirror(self, paths: Iterable[str]) -> None:
        for path in paths:
            self._unsettled.add(path)
            self.twin.mirror(path)

    def _begin_anew(self) -> None:
        self.forget()
        self._all_unsettled = True
        self.twin.begin()
        if self.out.is_dir():
            tree = self.twin.copy()
            self.remember(self.out, tree)
            self.remember(self.twin.folder, tree.copied_to(self.twin.folder))
        self._open_log(())

    def recall(self) -> Tree | None:
        """Return what the live tree was seen to hold by an earlier publish, if that is known."""
        return recall(self._seen, self.out, _boot())

    def remember(self, top: Path, tree: Tree) -> None:
        """Keep what one of the two trees was seen to hold, its twin being dressed alike."""
        remember(self._seen, top, _boot(), tree, (self.out, self.twin.folder))

    def forget(self) -> None:
        """Remove the twin; the next one is made from nothing."""
        self.close()
        self._differs.unlink(missing_ok=True)
        shutil.rmtree(self.twin.folder, ignore_errors=True)

    def note(self, path: str) -> None:
        """Note that the twin may differ at *path* from now on: OSError."""
        if path not in self._noted:
            self._noted[path] = None
            line = _as_line(path)
            while line:  # a full disk takes a part first, and then refuses
                line = line[os.write(self._log, line) :]

    def turn(self) -> None:
        """Make the twin the live tree, in one step, and the live tree the twin: OSError."""
        self._settle()
        self._close_log()
        if self.out.is_dir():
            swap.exchange(self.twin.folder, self.out, self._aside)
        else:
            os.rename(self.twin.folder, self.out)

    def _settle(self) -> None:
        if not self.lasting:
            return
        if self._all_unsettled:
            settle_everything()
        else:
            settle(self.twin.folder, self._unsettled.union(self._noted))
        self._unsettled.clear()
        self._all_unsettled = False

    def catch_up(self) -> None:
        """Bring the twin up to the live tree now, so that the next publish need not: OSError."""
        self.prepare()
        self.rest()

    def rest(self) -> None:
        """Bring the twin to the disk as it is, so that it outlives the machine's end: OSError."""
        self._settle()
        self._close_log()

    def give_up(self) -> None:
        """Free what an edition that will not come takes up, on a full disk too."""
        self._differs.with_suffix(".new").unlink(missing_ok=True)
        if not self.out.is_dir() or not self._differs.exists():
            self.forget()
            return
        with suppress(OSError):
            for path in self._noted:
                self.twin.remove(path)
            self._mirror(self._noted)

    def close(self) -> None:
        """Let go of the log; what it says stays."""
        if self._log >= 0:
            os.close(self._log)
            self._log = -1

    # The log of differences

    def _read_log(self) -> list[str] | None:
        """Return the paths noted, or None where the twin cannot be told to be one."""
        try:
            text = self._differs.read_bytes().decode("utf-8", "surrogateescape")
        except OSError:
            return None
        state, *paths = text.split(_END)
        known = state == _CLOSED or (_boot() and state == f"{_OPEN} {_boot()}")
        if not known or not self.twin.folder.is_dir():
            return None
        return paths[:-1]  # a last line without its end was never acted upon

    def _open_log(self, paths: Iterable[str]) -> None:
        self.close()
        self._write_log(f"{_OPEN} {_boot()}", paths)
        self._log = os.open(self._differs, os.O_WRONLY | os.O_APPEND)
        self._noted = dict.fromkeys(paths)

    def _close_log(self) -> None:
        self.close()
        # What has not been brought to the disk is not to be trusted after the machine's end.
        self._write_log(_CLOSED if self.lasting else f"{_OPEN} {_boot()}", self._noted)

    def _write_log(self, state: str, paths: Iterable[str]) -> None:
        fresh = self._differs.with_suffix(".new")
        with open(fresh, "wb") as file:
            file.writelines(map(_as_line, (state, *paths)))
            file.flush()
            if self.lasting:
                os.fsync(file.fileno())
        fresh.replace(self._differs)


def folder_of(out: Path) -> Path:
    """Return the folder of the room beside the output folder *out*."""
    return out.parent / f".{out.name}.kb"


@contextmanager
def locked(out: Path, waiting: Callable[[], None]) -> Iterator[Room]:
    """Yield the room of *out*, made if need be; *waiting* is called where another has it: OSError.

    *out* must be a path without links in it.
    """
    room = Room(out)
    handle = _enter(room.folder, waiting)
    try:
        yield room
    finally:
        room.close()
        os.close(handle)


def _enter(folder: Path, waiting: Callable[[], None]) -> int:
    """Make the room if need be and lock it; return what closing lets go of: OSError."""
    while True:
        with suppress(FileExistsError):
            os.mkdir(folder, 0o700)
        if not (folder / ".gitignore").exists():
            (folder / ".gitignore").write_text("*\n", encoding="ascii")
        handle = os.open(folder / "lock", os.O_RDWR | os.O_CREAT | os.O_CLOEXEC, 0o600)
        hold(handle, waiting)
        with suppress(FileNotFoundError):
            if os.path.samestat(os.fstat(handle), os.stat(folder / "lock")):
                return handle
        os.close(handle)  # whoever had the lock removed the room with it


def _as_line(path: str) -> bytes:
    return f"{path}{_END}".encode("utf-8", "surrogateescape")


def _lists_in(folder: Path) -> dict[str, tuple[int, int]]:
    """Return how the lists of a tree look: the same file, or a copy of it, looks the same.

    Whoever changes a site without its twin, such as another machine, makes its lists anew.
    """
    with suppress(FileNotFoundError, NotADirectoryError), os.scandir(folder / FOLDER) as entries:
        found = {each.name: each.stat() for each in entries if each.name.endswith(".txt")}
        return {name: (look.st_size, look.st_mtime_ns) for name, look in found.items()}
    return {}


def _boot() -> str:
    """Return what names the time since this machine was started, "" where nothing does."""
    try:
        return Path("/proc/sys/kernel/random/boot_id").read_text(encoding="ascii").strip()
    except OSError:
        return ""
