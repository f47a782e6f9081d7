"""A real Chromium for tests: how it is started, how a site is served, what is asked of a page."""

from __future__ import annotations

import functools
import re
import shutil
import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from threading import Thread
from typing import Any, Literal

from playwright.sync_api import Browser, BrowserContext, Page, Request, sync_playwright

NAMES = ("chromium", "chromium-browser", "google-chrome")
Look = Literal["light", "dark", "forced"]
LOOKS: tuple[Look, ...] = ("light", "dark", "forced")


@contextmanager
def chromium() -> Iterator[Browser]:
    """Run the Chromium of this machine, or else the one that Playwright itself installed."""
    found = next(filter(None, map(shutil.which, NAMES)), None)
    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=found, args=["--no-sandbox"])
        yield browser
        browser.close()


class _Quiet(SimpleHTTPRequestHandler):
    def log_message(self, format: str, *args: Any) -> None:
        """Say nothing: a test tells what went wrong."""

    def do_GET(self) -> None:
        """Give the file as it is: a file changed within the second would count as unchanged."""
        del self.headers["If-Modified-Since"]
        super().do_GET()


class _Server(ThreadingHTTPServer):
    daemon_threads = True

    def handle_error(self, request: Any, client_address: Any) -> None:
        """Say nothing of a browser that goes away before it has all."""
        if not isinstance(sys.exception(), ConnectionError):
            super().handle_error(request, client_address)


@contextmanager
def served(folder: Path) -> Iterator[str]:
    """Serve *folder* on this machine alone and give its address, with a slash at its end."""
    handler = functools.partial(_Quiet, directory=str(folder))
    with _Server(("127.0.0.1", 0), handler) as server:
        Thread(target=server.serve_forever, daemon=True).start()
        yield f"http://127.0.0.1:{server.server_address[1]}/"
        server.shutdown()


def context(
    browser: Browser, width: int = 360, look: Look = "light", **more: Any
) -> BrowserContext:
    """Return a window *width* CSS pixels wide for a reader who wants this look."""
    return browser.new_context(
        viewport={"width": width, "height": 800},
        color_scheme="dark" if look == "dark" else "light",
        forced_colors="active" if look == "forced" else "none",
        reduced_motion="reduce",
        **more,
    )


@dataclass
class Watched:
    """A page with everything that went wrong on it since it was opened."""

    page: Page
    troubles: list[str] = field(default_factory=list)

    def failed(self, request: Request) -> None:
        """Note a request that failed, but not one that was left behind with its page."""
        if request.failure != "net::ERR_ABORTED":
            self.troubles.append(f"failed: {request.url}")

    def open(self, address: str) -> Page:
        """Go to *address* and wait until all that it fetches is there."""
        self.page.goto(address, wait_until="load")
        return self.page


def watched(window: BrowserContext) -> Watched:
    """Return a new page that notes console errors, failed requests and refused content."""
    seen = Watched(window.new_page())
    seen.page.on(
        "console",
        lambda said: seen.troubles.append(said.text) if said.type in ("error", "warning") else None,
    )
    seen.page.on("pageerror", lambda error: seen.troubles.append(str(error)))
    seen.page.on("requestfailed", lambda request: seen.failed(request))
    seen.page.on(
        "response",
        lambda answer: (
            seen.troubles.append(f"{answer.status}: {answer.url}") if answer.status >= 400 else None
        ),
    )
    return seen


def sheets(pdf: bytes) -> int:
    """Return how many sheets a PDF has."""
    return len(re.findall(rb"/Type\s*/Page[^s]", pdf))


def luminance(rgb: Sequence[float]) -> float:
    """Return the relative luminance of WCAG 2.2 of a colour with parts from 0 to 255."""
    parts = [value / 255 for value in rgb[:3]]
    red, green, blue = (
        part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts
    )
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: Sequence[float], other: Sequence[float]) -> float:
    """Return the contrast ratio of WCAG 2.2 between two colours, 1 to 21."""
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)
