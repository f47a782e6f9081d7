"""A static server with the pace of a phone's connection: 1.6 Mbit/s and 150 ms a round trip.

The pace is kept by the server because requests of a worker escape a browser's own throttling. All
connections of one server share its rate; every request waits one round trip before its first byte.
"""

from __future__ import annotations

import functools
import gzip
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from threading import Lock, Thread
from typing import Any

RATE = 1_600_000 / 8  # bytes a second
ROUND_TRIP = 0.150  # seconds
_SLICE = 4096
_TEXTS = (".html", ".css", ".js", ".mjs", ".json", ".svg", ".xml", ".txt", ".webmanifest")


@dataclass
class Pace:
    """What one server may send and has sent: bytes of heads and bodies, by path."""

    rate: float = RATE
    round_trip: float = ROUND_TRIP
    gzip: bool = False
    sent: int = 0
    asked: list[tuple[str, int]] = field(default_factory=list)
    _free: float = 0.0
    _lock: Lock = field(default_factory=Lock)

    def take(self, size: int) -> None:
        """Wait until *size* bytes have gone over the line."""
        with self._lock:
            self.sent += size
            self._free = max(self._free, time.monotonic()) + size / self.rate
            wait = self._free - time.monotonic()
        if wait > 0:
            time.sleep(wait)

    def note(self, path: str, size: int) -> None:
        """Remember a request."""
        with self._lock:
            self.asked.append((path, size))

    def start_over(self) -> None:
        """Count from nothing."""
        with self._lock:
            self.sent = 0
            self.asked.clear()


@functools.lru_cache(maxsize=4096)
def _packed(path: str, changed: float) -> bytes:
    return gzip.compress(Path(path).read_bytes(), 6, mtime=0)


class _Slow(SimpleHTTPRequestHandler):
    protocol_version = "HTTP/1.1"
    disable_nagle_algorithm = True

    def __init__(self, *args: Any, pace: Pace, **more: Any) -> None:
        self._pace = pace
        super().__init__(*args, **more)

    def do_GET(self) -> None:
        """Send a file after one round trip, at the pace of the line."""
        time.sleep(self._pace.round_trip)
        path = Path(self.translate_path(self.path))
        path = path / "index.html" if path.is_dir() else path
        if not path.is_file():
            self._send(404, b"not found", {"Content-Type": "text/plain"})
            return
        head = {"Content-Type": self.guess_type(str(path)), "Cache-Control": "max-age=600"}
        body = path.read_bytes()
        if self._pace.gzip and path.suffix in _TEXTS:
            body = _packed(str(path), path.stat().st_mtime)
            head["Content-Encoding"] = "gzip"
        self._send(200, body, head)

    def _send(self, status: int, body: bytes, head: dict[str, str]) -> None:
        self.send_response(status)
        for name, value in {**head, "Content-Length": str(len(body))}.items():
            self.send_header(name, value)
        lines: list[bytes] = self._headers_buffer  # type: ignore[attr-defined]
        size = sum(len(line) for line in lines) + 2 + len(body)
        self._pace.note(self.path, size)
        self._pace.take(size - len(body))
        try:
            self.end_headers()
            for at in range(0, len(body), _SLICE):
                self._pace.take(len(body[at : at + _SLICE]))
                self.wfile.write(body[at : at + _SLICE])
        except ConnectionError:  # the browser left
            self.close_connection = True

    def log_message(self, format: str, *args: Any) -> None:
        """Say nothing."""


class _Server(ThreadingHTTPServer):
    daemon_threads = True

    def handle_error(self, request: Any, client_address: Any) -> None:
        """Say nothing of browsers that leave."""


@contextmanager
def slowly_served(folder: Path, pace: Pace) -> Iterator[str]:
    """Serve *folder* at *pace* on this machine alone and give its address."""
    handler = functools.partial(_Slow, directory=str(folder), pace=pace)
    with _Server(("127.0.0.1", 0), handler) as server:
        Thread(target=server.serve_forever, daemon=True).start()
        yield f"http://127.0.0.1:{server.server_address[1]}/"
        server.shutdown()
