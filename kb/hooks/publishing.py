"""Publishing what branches ask for, one after the other, by whoever holds the lock."""

from __future__ import annotations

import hashlib
import os
import shutil
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from traceback import format_exc

from kb.errors import KbError
from kb.hooks import told
from kb.hooks.exports import export, house_in
from kb.hooks.proofs import place_of
from kb.hooks.repository import Repository
from kb.hooks.settings import Settings
from kb.hooks.sites import Order, UnfitHouseError, publish
from kb.hooks.targets import Served, Target, note_served, read_served, targets, withdraw
from kb.hooks.verdict import Verdict, placed

Say = Callable[[str], None]

_LONGEST_LOG = 1_000_000  # bytes; then a new one is begun and one older is kept


@dataclass(frozen=True, slots=True)
class Publisher:
    """One round of publishing, for whoever holds the lock."""

    repository: Repository
    settings: Settings
    day: date
    say: Say

    def round(self, afresh: bool = False) -> None:
        """Publish every branch that has moved since (with *afresh*, every one)."""
        served = read_served(self.repository)
        asked = list(targets(self.repository, self.settings))
        self._withdraw_gone(served, {str(target.out) for target in asked})
        for target in asked:
            entry = served.get(str(target.out), {})
            if afresh or entry.get("commit") != target.commit:
                with self._told_of(told.unpublished(target.name, target.out)):
                    self._serve(target, served)

    @contextmanager
    def _told_of(self, what: str) -> Iterator[None]:
        """Tell of trouble with one branch, so that the others do not suffer from it."""
        try:
            yield
        except (KbError, OSError) as error:
            log(self.repository, f"{what}: {error}")
            self.say(told.trouble(what, error))
        except Exception as error:  # a fault of the program; nobody sees a traceback here
            log(self.repository, f"{what}: {format_exc().rstrip()}")
            self.say(f"{what}: {type(error).__name__}: {error}")

    def _withdraw_gone(self, served: Served, wanted: set[str]) -> None:
        """Remove the previews whose branch is gone. The published site always stays."""
        for out in [out for out in served if out not in wanted]:
            entry = served.pop(out)
            if entry.get("preview"):
                with self._told_of(f"The preview in {out} is not removed"):
                    withdraw(Path(out))
                    log(self.repository, f"preview of {entry.get('branch')} removed: {out}")
                    self.say(f"The preview of {entry.get('branch')} is removed: {out}")
            shutil.rmtree(self._folder(Path(out)), ignore_errors=True)
            note_served(self.repository, served)

    def _serve(self, target: Target, served: Served) -> None:
        begun = time.monotonic()
        house = house_in(self.repository, target.commit, self.settings.house)
        entry = served.setdefault(str(target.out), {})
        # Until the work is done no commit stands there: whatever stops it, it is done again.
        preview = target.out != self.settings.out
        entry.update(branch=target.name, preview=preview, commit="")
        if house is None:
            self.say(told.NOTHING_TO_PUBLISH)
        else:
            mark = f"{target.name} {target.commit}"
            log(self.repository, f"{mark} begun: {target.out}, process {os.getpid()}")
            done = self._publish(target, house, self._exported(target, house, served))
            took = time.monotonic() - begun
            log(self.repository, f"{mark} {done} in {took:.1f} s: {target.out}")
        entry["commit"] = target.commit
        note_served(self.repository, served)

    def _exported(self, target: Target, house: str, served: Served) -> Path:
        """Bring the folder that a site is published from to the target's commit.

        It is kept from one publish to the next, so only what changed is written. Until the export
        is whole, the record has no tree for it; then an export that was cut short is begun anew.
        """
        folder = self._folder(target.out)
        entry = served[str(target.out)]
        since = str(entry.get("tree", "")) if entry.get("house") == house else ""
        if since and not self._follows(since, folder):
            since = ""
        entry.update(house=house, tree="")
        note_served(self.repository, served)
        if not since:
            shutil.rmtree(folder, ignore_errors=True)
        inside = export(self.repository, target.commit, house, folder, since)
        entry["tree"] = target.commit
        return inside

    def _follows(self, since: str, folder: Path) -> bool:
        """Tell whether *folder* is there, and the commit in it was not swept away meanwhile."""
        words = ("rev-parse", "-q", "--verify", f"{since}^{{tree}}")
        return folder.is_dir() and bool(self.repository.ask(*words))

    def _folder(self, out: Path) -> Path:
        mark = hashlib.sha256(os.fsencode(out)).hexdigest()[:16]
        return self.repository.home / "exports" / mark

    def _publish(self, target: Target, house: str, folder: Path) -> str:
        order = Order(
            folder,
            target.out,
            self.day,
            proof=place_of(self.repository, target.commit, house, self.day),
            keep=self.settings.keep,
            compress=self.settings.compress,
        )
        try:
            done = publish(order, waiting=lambda: self.say(told.OTHER_PUBLISH))
        except UnfitHouseError as unfit:
            self._say_why_not(target, house, unfit)
            return "not published"
        self.say(told.published(target.name, target.out, done.as_json()))
        return "published"

    def _say_why_not(self, target: Target, house: str, unfit: UnfitHouseError) -> None:
        self.say(f"{told.unpublished(target.name, target.out)}.")
        verdict = Verdict(new=placed(unfit.errors, house))
        for line in told.problem_lines(verdict, told.REMOTE_WIDTH):
            self.say(line)


def log(repository: Repository, text: str) -> None:
    """Write a line into the log of publishes."""
    path = repository.home / "publishes.log"
    if path.exists() and path.stat().st_size > _LONGEST_LOG:
        path.replace(path.with_suffix(".log.1"))
    stamp = datetime.now().astimezone().isoformat(timespec="seconds")
    with path.open("a", encoding="utf-8", errors="surrogateescape") as file:
        file.write(f"{stamp} {text}\n")
