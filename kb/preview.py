"""Preview: the site on this machine, kept up with edits, with what is wrong shown on the page.

The site is written beside the derived data of the house, so a preview never touches what has been
published. A small script is added to each page on its way out; it waits for word of a new edition
(server-sent events) and shows the problems of the house.
"""

from __future__ import annotations

import json
import shutil
import threading
from collections.abc import Callable
from datetime import date
from functools import partial
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any

from kb import derived
from kb.errors import KbError, Problem
from kb.resources import folder

_SCRIPT = b'<script type="module" src="/-/preview.js"></script></body>'
_HEARTBEAT = 15.0  # seconds between signs of life, so that a closed page is noticed


class Edition:
    """What is being shown: its count, and the problems of the house it was made from."""

    def __init__(self) -> None:
        self.number = 0
        self.problems: list[dict[str, Any]] = []
        self.failure = ""
        self.changed = threading.Condition()

    def turn(self, problems: list[Problem], failure: str = "") -> None:
        """Tell every waiting page that there is something new to show."""
        with self.changed:
            self.number += 1
            self.failure = failure
            self.problems = [
                {"place": f"{p.file}:{p.line}", "level": p.level, "message": p.message,
                 "remedy": p.remedy}
                for p in problems
            ]
            self.changed.notify_all()

    def wait(self, after: int) -> int:
        """Return the number of the edition once it is past *after*, or of this one in good time."""
        with self.changed:
            self.changed.wait_for(lambda: self.number > after, timeout=_HEARTBEAT)
            return self.number


class _Handler(SimpleHTTPRequestHandler):
    """Serves the preview's folder, with the script added and the events beside it."""

    protocol_version = "HTTP/1.1"
    edition: Edition

    def __init__(self, *args: Any, edition: Edition, **kwargs: Any) -> None:
        self.edition = edition
        super().__init__(*args, **kwargs)

    def do_GET(self) -> None:
        """Answer one request."""
        try:
            self._answer()
        except (BrokenPipeError, ConnectionResetError):
            self.close_connection = True

    def _answer(self) -> None:
        path = self.path.partition("?")[0]
        if path == "/-/events":
            return self._events()
        if path == "/-/problems.json":
            shown = {"failure": self.edition.failure, "problems": self.edition.problems}
            return self._send(json.dumps(shown).encode(), "application/json")
        if path == "/-/preview.js":
            return self._send((folder("site") / "preview.js").read_bytes(), "text/javascript")
        page = Path(self.translate_path(self.path))
        if page.is_dir() and path.endswith("/"):
            page /= "index.html"
        if page.suffix == ".html" and page.is_file():
            content = page.read_bytes().replace(b"</body>", _SCRIPT)
            return self._send(content, "text/html; charset=utf-8")
        return super().do_GET()

    def _send(self, content: bytes, kind: str) -> None:
        self.send_response(200)
        self.send_header("Content-Type", kind)
        self.send_header("Content-Length", str(len(content)))
        self.send_header("Cache-Control", "no-store")
        self.end_headers()
        self.wfile.write(content)

    def _events(self) -> None:
        self.send_response(200)
        self.send_header("Content-Type", "text/event-stream")
        self.send_header("Cache-Control", "no-store")
        self.end_headers()
        self.close_connection = True
        seen = -1
        while True:
            number = self.edition.wait(seen)
            self.wfile.write(f"data: {number}\n\n".encode() if number > seen else b": still\n\n")
            self.wfile.flush()
            seen = number

    def log_message(self, format: str, *args: Any) -> None:
        """Keep the terminal for what matters to the writer."""


class Preview:
    """One running preview of a house."""

    def __init__(self, house: Path, today: Callable[[], date], say: Callable[[str], None]) -> None:
        self._house = house
        self._today = today
        self._say = say
        self._edition = Edition()
        self.folder = derived.home(house) / "preview"

    def build(self) -> None:
        """Read the house and write the preview; whatever goes wrong is shown, not raised."""
        from kb.house import read_house
        from kb.proof import run
        from kb.publish import publish

        try:
            house = read_house(self._house)
            problems = run(house, self._today())
            done = publish(house, self._today(), self.folder)
        except (KbError, OSError) as error:
            self._edition.turn([], str(error))
            self._say(f"Could not publish: {error}")
            return
        self._edition.turn(problems)
        errors = sum(problem.level == "error" for problem in problems)
        told = f"{errors} errors, " if errors else ""
        self._say(f"{told}{done.bulletins} bulletins, {done.written} files written.")

    def serve(self, port: int) -> ThreadingHTTPServer:
        """Return a server of the preview on this machine; port 0 takes any free one."""
        self.folder.mkdir(parents=True, exist_ok=True)
        handler = partial(_Handler, edition=self._edition, directory=str(self.folder))
        try:
            server = ThreadingHTTPServer(("127.0.0.1", port), handler)
        except OSError:
            server = ThreadingHTTPServer(("127.0.0.1", 0), handler)
        server.daemon_threads = True
        return server

    def keep_up(self, stop: threading.Event) -> None:
        """Build again after every save until *stop* is set."""
        from watchfiles import DefaultFilter, watch

        mine = str(derived.home(self._house))
        unseen = DefaultFilter()
        for _ in watch(
            self._house,
            stop_event=stop,
            watch_filter=lambda change, path: not path.startswith(mine) and unseen(change, path),
            raise_interrupt=False,
        ):
            self.build()


def clear(house: Path) -> None:
    """Remove what earlier previews of the house left."""
    shutil.rmtree(derived.home(house) / "preview", ignore_errors=True)
