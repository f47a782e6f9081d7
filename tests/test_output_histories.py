"""Random histories of an output folder against a plain dict: publishes, kills, hands of others."""

from __future__ import annotations

import os
import shutil
import tempfile
import time
from contextlib import ExitStack
from pathlib import Path
from unittest.mock import patch

import pytest
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, precondition, rule

from kb.errors import KbError
from kb.output.listing import FOLDER, lists
from kb.output.room import folder_of
from tests.output_sites import go_back, publish, publish_changes
from tests.test_output_kills import killed

pytestmark = pytest.mark.skipif(not hasattr(os, "fork"), reason="stops a child of its own by fork")

Files = dict[str, bytes]

_JUST_NOW = 20_000_000  # nanoseconds: longer than the system's clock for files takes to go on
STEPS = ["a", "b", "c.html"]
PATHS = [*STEPS, *(f"{x}/{y}" for x in STEPS[:2] for y in STEPS), "a/b/c/d.html"]
CONTENTS = st.sampled_from([b"", b"one", b"two", b"three"])


def _fits(path: str, others: Files) -> bool:
    """Tell whether a file can lie beside others: none is a folder of the other."""
    return not any(each.startswith(f"{path}/") or path.startswith(f"{each}/") for each in others)


@st.composite
def sites(draw: st.DrawFn) -> Files:
    site: Files = {}
    for path in draw(st.lists(st.sampled_from(PATHS), min_size=1, max_size=8, unique=True)):
        if _fits(path, site):
            site[path] = draw(CONTENTS)
    return site


THEIR_PATHS = st.sampled_from([f"{folder}their{n}" for folder in ("", "a/", "x/") for n in "12"])


class History(RuleBasedStateMachine):
    """What is done to a folder, and what therefore has to be in it."""

    def __init__(self) -> None:
        super().__init__()
        within = "/dev/shm" if os.access("/dev/shm", os.W_OK) else None
        self.top = Path(tempfile.mkdtemp(dir=within))
        self.out = self.top / "site"
        self.site: Files = {}
        self.older: list[Files] = []
        self.theirs: Files = {}
        # Times are believed sooner, so that what is remembered of a tree is; helpers begin early.
        self._patches = ExitStack()
        self._patches.enter_context(patch("os.sync", lambda: None))
        self._patches.enter_context(patch("kb.output.sharing.MANY", 4))
        self._patches.enter_context(patch("kb.output.tree._JUST_NOW", _JUST_NOW))
        self._patches.enter_context(patch("kb.output.whole._FEW", 0))

    def teardown(self) -> None:
        """Leave nothing."""
        self._patches.close()
        shutil.rmtree(self.top)

    def _found(self) -> Files:
        return {
            path.relative_to(self.out).as_posix(): path.read_bytes()
            for path in self.out.rglob("*")
            if path.is_file() and FOLDER not in f"{path.relative_to(self.out).as_posix()}/"
        }

    def _fits_theirs(self, site: Files) -> bool:
        return all(_fits(path, self.theirs) for path in site)

    def _turned(self, site: Files, keep: int, listed: bool) -> None:
        """Tell the model that readers have *site* now."""
        if listed:
            self.older.append(self.site)
        self.older = self.older[len(self.older) - min(keep, len(self.older)) :]
        self.site = site

    @rule(site=sites(), keep=st.integers(0, 3), changes=st.booleans())
    def publishes(self, site: Files, keep: int, changes: bool) -> None:
        """Publish; where nothing changed nothing is turned, and nothing more is kept."""
        first, same = not self.out.is_dir(), site == self.site
        publishing = publish_changes if changes else publish
        if not self._fits_theirs(site):
            with pytest.raises(KbError, match="in the way"):
                publishing(self.out, site, keep)
            return
        publishing(self.out, site, keep)
        if first:
            self.older, self.site = [], site
        elif not same:
            self._turned(site, keep, listed=True)

    @rule(site=sites(), data=st.data())
    def is_killed(self, site: Files, data: st.DataObject) -> None:
        """Publish, stopped anywhere: the folder tells which of the two editions it is."""
        if not self._fits_theirs(site):
            return
        killed(lambda: publish(self.out, site, 9), self.top, data.draw(st.integers(0, 150)))
        found = {path: held for path, held in self._found().items() if path not in self.theirs}
        assert found in (self.site, site) if self.out.is_dir() else not self.site
        if found == site != self.site:
            first = not self.site and not self.older and not self.theirs
            self._turned(site, 9, listed=not first)

    @precondition(lambda self: self.out.is_dir())
    @rule()
    def goes_back(self) -> None:
        """Go back to the edition before, if there is one and nothing of others is in its way."""
        if not self.older or not self._fits_theirs(self.older[-1]):
            with pytest.raises(KbError, match=r"no older edition|in the way"):
                go_back(self.out)
            return
        go_back(self.out)
        self.site = self.older.pop()

    @precondition(lambda self: self.out.is_dir())
    @rule(path=THEIR_PATHS, content=CONTENTS, anew=st.booleans())
    def others_write(self, path: str, content: bytes, anew: bool) -> None:
        """Let others write a file, in place or anew, where it does not stand in our way."""
        if _fits(path, self.site):
            (self.out / path).parent.mkdir(parents=True, exist_ok=True)
            if anew:
                (self.out / path).unlink(missing_ok=True)
            (self.out / path).write_bytes(content)
            self.theirs[path] = content

    @precondition(lambda self: self.theirs)
    @rule(data=st.data())
    def others_remove(self, data: st.DataObject) -> None:
        """Let others remove a file of theirs."""
        path = data.draw(st.sampled_from(sorted(self.theirs)))
        (self.out / path).unlink()
        del self.theirs[path]

    @precondition(lambda self: self.site)
    @rule(data=st.data(), anew=st.booleans())
    def hands_edit_and_it_is_published_again(self, data: st.DataObject, anew: bool) -> None:
        """Change a page by hand; the next publish of the same site makes that good."""
        path = data.draw(st.sampled_from(sorted(self.site)))
        if anew:
            (self.out / path).unlink()
        (self.out / path).write_bytes(b"by hand")
        publish(self.out, self.site, 9)
        shutil.rmtree(folder_of(self.out) / "kept", ignore_errors=True)
        self.older = []

    @rule()
    def time_goes_by(self) -> None:
        """Wait until no change can bear the time of one before."""
        time.sleep(_JUST_NOW / 1e9)

    @precondition(lambda self: self.out.is_dir())
    @rule()
    def the_room_is_lost(self) -> None:
        """Remove all that is beside the site."""
        shutil.rmtree(folder_of(self.out), ignore_errors=True)
        self.older = []

    @invariant()
    def readers_have_the_edition_and_others_their_files(self) -> None:
        """Compare the folder with the model."""
        if self.out.is_dir():
            assert self._found() == {**self.theirs, **self.site}

    @invariant()
    def the_lists_hold_what_is_ours(self) -> None:
        """Compare the lists with those that are made from nothing."""
        found = {path.name: path.read_bytes() for path in (self.out / FOLDER).glob("*")}
        assert found == {Path(path).name: held for path, held in lists(self.site)}


History.TestCase.settings = settings(
    max_examples=int(os.environ.get("KB_POINTS", "25")),
    stateful_step_count=20,
    deadline=None,
    suppress_health_check=list(HealthCheck),
)
TestHistories = History.TestCase
