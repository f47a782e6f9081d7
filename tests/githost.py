"""A host of git on this machine: bare repositories over HTTP, for whoever brings the right token.

The answers are git's own (`git http-backend`); this server only asks for the token, as hosts do for
what runs on their runners: basic authentication, the token in place of the password.
"""

from __future__ import annotations

import base64
import os
import subprocess
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path

TOKEN = "secret-of-the-run"


class _Handler(BaseHTTPRequestHandler):
    """One request, handed to git as a CGI program is (RFC 3875)."""

    root: Path
    refused: list[str]

    def do_GET(self) -> None:
        """Answer what a clone asks first."""
        self._answer()

    def do_POST(self) -> None:
        """Answer a fetch or a push."""
        self._answer()

    def log_message(self, format: str, *args: object) -> None:
        """Keep quiet."""

    def _answer(self) -> None:
        given = self.headers.get("Authorization", "").partition(" ")
        words = base64.b64decode(given[2]).decode()
        if given[0].lower() != "basic" or words.partition(":")[2] != TOKEN:
            self.refused.append(self.path)
            self.send_response(401)
            self.send_header("WWW-Authenticate", 'Basic realm="git"')
            self.end_headers()
            return
        head, _, body = self._git().partition(b"\r\n\r\n")
        fields = dict(line.split(": ", 1) for line in head.decode().split("\r\n"))
        self.send_response(int(fields.pop("Status", "200").split()[0]))
        for name, value in fields.items():
            self.send_header(name, value)
        self.end_headers()
        self.wfile.write(body)

    def _git(self) -> bytes:
        path, _, query = self.path.partition("?")
        length = self.headers.get("Content-Length", "0")
        asked = {
            "GIT_PROJECT_ROOT": str(self.root),
            "GIT_HTTP_EXPORT_ALL": "1",
            "PATH_INFO": path,
            "QUERY_STRING": query,
            "REQUEST_METHOD": self.command,
            "CONTENT_TYPE": self.headers.get("Content-Type", ""),
            "CONTENT_LENGTH": length,
            "HTTP_CONTENT_ENCODING": self.headers.get("Content-Encoding", ""),
            "GIT_PROTOCOL": self.headers.get("Git-Protocol", ""),
            "REMOTE_USER": words_of(self.headers.get("Authorization", "")),
            "REMOTE_ADDR": self.client_address[0],
        }
        body = self.rfile.read(int(length))
        done = subprocess.run(
            ["git", "http-backend"], input=body, env={**os.environ, **asked}, capture_output=True
        )
        return done.stdout


def words_of(header: str) -> str:
    """Return the user that a header with basic authentication names."""
    return base64.b64decode(header.partition(" ")[2]).decode().partition(":")[0]


@contextmanager
def serving(root: Path) -> Iterator[tuple[str, list[str]]]:
    """Serve the repositories below *root*: yield the address, and what was asked without token."""
    refused: list[str] = []
    handler = type("Handler", (_Handler,), {"root": root, "refused": refused})
    server = ThreadingHTTPServer(("127.0.0.1", 0), handler)
    thread = threading.Thread(target=server.serve_forever)
    thread.start()
    try:
        yield f"http://127.0.0.1:{server.server_port}", refused
    finally:
        server.shutdown()
        thread.join()
        server.server_close()
