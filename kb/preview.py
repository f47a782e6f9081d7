"""Preview: the site on this machine, kept up with edits, with what is wrong shown on the page.

The site is written beside the derived data of the house, so a preview never touches what has been
published. Drafts are shown as if they were in force; a bulletin that does not read stays as it
last did.
"""

from __future__ import annotations

import threading
import webbrowser
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import date
from pathlib import Path

from kb import derived
from kb.errors import KbError, Problem
from kb.previewserver import Edition, serve
from kb.records import Bulletin, House

_LOOK_EVERY = 1000  # milliseconds between looks of our own, where a system tells of no change
_KEPT = "Pages stay as they were until the tables in reference/ can be read again."


class Preview:
    """One running preview of the house in *house*. *say* is told what happens."""

    def __init__(self, house: Path, today: Callable[[], date], say: Callable[[str], None]) -> None:
        self._house = house
        self._today = today
        self._say = say
        self._edition = Edition()
        self._last: dict[str, Bulletin] = {}
        self._looks = b""
        self.folder = derived.home(house) / "preview"

    def build(self) -> None:
        """Read the house and write the preview; whatever goes wrong is shown, not raised."""
        self._looks = self._look()
        try:
            self._build()
        except Exception as error:  # whatever it is: the next save may be sound again
            fault = not isinstance(error, (KbError, OSError))
            named = f"{type(error).__name__}: {error}" if fault else str(error)
            told = f"The pages could not be made: {named}"
            self._edition.turn([], told)
            self._say(told)

    def _build(self) -> None:
        from kb.house import read_house
        from kb.proof import run
        from kb.publish import Manner, publish

        house = read_house(self._house)
        problems = run(house, self._today())
        note = _KEPT if self._edition.number and problems and not house.families else ""
        if note:  # without families no bulletin would be left
            self._say(_told(problems, note))
        else:
            shown = self._shown(house)
            done = publish(shown, self._today(), self.folder, Manner(keep=0, lasting=False))
            self._say(_told(problems, f"{done.bulletins} bulletins, {done.written} files written"))
        self._edition.turn(problems, note=note)

    def _shown(self, house: House) -> House:
        """Return the house with drafts in force, and broken bulletins as they last were."""
        sound = {bulletin.file: bulletin for bulletin in house.bulletins}
        names = set(house.files)
        numbers = {bulletin.number for bulletin in house.bulletins}
        kept = {
            file: bulletin
            for file, bulletin in self._last.items()
            if file in names and file not in sound and bulletin.number not in numbers
        }
        self._last = dict(sorted({**sound, **kept}.items()))
        shown = (
            replace(each, status="in-force") if each.status == "draft" else each
            for each in self._last.values()
        )
        return replace(house, bulletins=tuple(shown))

    @contextmanager
    def serving(self, port: int) -> Iterator[tuple[str, bool]]:
        """Serve the preview; yield its address and whether it has the port asked for."""
        self.folder.mkdir(parents=True, exist_ok=True)
        server = serve(self.folder, self._edition, port)
        got = int(server.server_address[1])
        thread = threading.Thread(target=server.serve_forever, daemon=True)
        thread.start()
        try:
            yield f"http://127.0.0.1:{got}/", port in (0, got)
        finally:
            self._edition.close()
            server.shutdown()
            server.server_close()

    def keep_up(self, stop: threading.Event | None = None) -> None:
        """Build again after every save, until *stop* is set or Ctrl-C is pressed."""
        from watchfiles import DefaultFilter, watch

        mine = str(derived.home(self._house).resolve())
        unseen = DefaultFilter()
        for changes in watch(
            self._house.resolve(),
            stop_event=stop,
            watch_filter=lambda change, path: not path.startswith(mine) and unseen(change, path),
            rust_timeout=_LOOK_EVERY,
            yield_on_timeout=True,
            raise_interrupt=False,
        ):
            if changes or self._look() != self._looks:
                self.build()

    def _look(self) -> bytes:
        try:
            return derived.look(self._house)
        except OSError:  # a file went while we looked; the next look sees it
            return b""


def _told(problems: list[Problem], what: str) -> str:
    errors = sum(problem.level == "error" for problem in problems)
    return f"{errors} {'error' if errors == 1 else 'errors'}; {what}" if errors else what


def open_browser(address: str) -> None:
    """Open the user's browser at *address*; without one nothing happens."""
    try:
        webbrowser.open(address)
    except webbrowser.Error:  # a machine without a screen
        return
