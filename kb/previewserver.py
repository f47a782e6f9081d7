"""The server of the preview: the written pages with a script added, and word of new editions.

Serves this machine alone. The script waits for word (server-sent events), reloads the page and
shows the problems of the house.
"""

from __future__ import annotations

import json
import threading
from functools import partial
from http import HTTPStatus
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

from kb.errors import Problem
from kb.resources import folder

_SCRIPT = b'<script type="module" src="/-/preview.js"></script>'
_HEARTBEAT = 15.0  # seconds between signs of life, so that a closed page is noticed
_OWN = {"/-/preview.js": "text/javascript", "/-/preview.css": "text/css; charset=utf-8"}
_NO_PAGE = (
    b'<!doctype html><html lang="en"><meta charset="utf-8"><title>Preview</title>'
    b'<meta name="viewport" content="width=device-width, initial-scale=1">'
    b'<meta name="color-scheme" content="light dark">'
    b"<body><h1>There is no such page yet</h1><p>It comes up by itself once it can be made. "
    b'<a href="/">To the first page</a></p></body></html>'
)


class Edition:
    """What is being shown: its count, and the problems of the house it was made from."""

    def __init__(self) -> None:
        self.number = 0
        self.closed = False
        self._shown: dict[str, Any] = {"failure": "", "note": "", "problems": []}
        self._changed = threading.Condition()

    def turn(self, problems: list[Problem], failure: str = "", note: str = "") -> None:
        """Tell every waiting page that there is something new to show."""
        told = [
            {
                "place": f"{p.file}:{p.line}",
                "level": p.level,
                "message": p.message,
                "remedy": p.remedy,
            }
            for p in sorted(problems, key=lambda p: (p.level, p.file, p.line))
        ]
        with self._changed:
            self.number += 1
            self._shown = {"failure": failure, "note": note, "problems": told}
            self._changed.notify_all()

    def as_json(self) -> dict[str, Any]:
        """Return what is wrong, as the page asks for it."""
        with self._changed:
            return self._shown

    def wait(self, after: int, seconds: float = _HEARTBEAT) -> int:
        """Return the number of the edition once it is past *after*, or as it is in good time."""
        with self._changed:
            self._changed.wait_for(lambda: self.closed or self.number > after, timeout=seconds)
            return self.number

    def close(self) -> None:
        """Let every waiting page go."""
        with self._changed:
            self.closed = True
            self._changed.notify_all()


class _Handler(SimpleHTTPRequestHandler):
    """Serves the preview's folder, with the script added and the events beside it."""

    protocol_version = "HTTP/1.1"

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
        path = urlsplit(self.path).path
        if path == "/-/events":
            return self._events()
        if path == "/-/problems.json":
            return self._send(json.dumps(self.edition.as_json()).encode(), "application/json")
        if path in _OWN:
            name = path.rpartition("/")[2]
            return self._send((folder("site") / "preview" / name).read_bytes(), _OWN[path])
        # The site's worker would go on showing what it has stored: here there is none.
        worker = self.headers.get("Service-Worker") == "script"
        file = Path(self.translate_path(self.path))
        if file.is_dir() and not path.endswith("/"):
            return super().do_GET()  # sends the reader on to the folder's own address
        file = file / "index.html" if file.is_dir() else file
        if worker or not file.is_file():
            return self._page(_NO_PAGE, HTTPStatus.NOT_FOUND)
        if file.suffix == ".html":
            return self._page(file.read_bytes(), HTTPStatus.OK)
        return super().do_GET()

    def end_headers(self) -> None:
        """Add that nothing here is to be kept."""
        self.send_header("Cache-Control", "no-store")
        super().end_headers()

    def _page(self, content: bytes, status: HTTPStatus) -> None:
        before, end, after = content.rpartition(b"</body>")
        content = before + _SCRIPT + end + after if end else content + _SCRIPT
        self._send(content, "text/html; charset=utf-8", status)

    def _send(self, content: bytes, kind: str, status: HTTPStatus = HTTPStatus.OK) -> None:
        self.send_response(status)
        self.send_header("Content-Type", kind)
        self.send_header("Content-Length", str(len(content)))
        self.end_headers()
        self.wfile.write(content)

    def _events(self) -> None:
        self.send_response(HTTPStatus.OK)
        self.send_header("Content-Type", "text/event-stream")
        self.end_headers()
        self.close_connection = True
        seen = -1
        while not self.edition.closed:
            number = self.edition.wait(seen)
            self.wfile.write(f"data: {number}\n\n".encode() if number > seen else b": still\n\n")
            self.wfile.flush()
            seen = number

    def log_message(self, format: str, *args: Any) -> None:
        """Keep the terminal for what matters to the writer."""


def serve(directory: Path, edition: Edition, port: int) -> ThreadingHTTPServer:
    """Return a server of *directory* on this machine.

    Port 0 takes any free one; so does a port that is taken.
    """
    handler = partial(_Handler, edition=edition, directory=str(directory))
    try:
        server = ThreadingHTTPServer(("127.0.0.1", port), handler)
    except OSError:
        server = ThreadingHTTPServer(("127.0.0.1", 0), handler)
    server.daemon_threads = True
    return server
