"""A site on a server that counts and fails as told, and a phone that carries it."""

from __future__ import annotations

import functools
import json
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from threading import Thread
from typing import Any
from urllib.parse import unquote, urlsplit

from playwright.sync_api import Browser, BrowserContext, Page, Worker, expect

from kb.house import read_house
from kb.publish import publish
from tests.browser import Watched, watched
from tests.rendered import TODAY

PHONE: Any = {"width": 360, "height": 640}
SUB_FOLDER = "service/notes/"
LATER = """() => {
  const now = Date.now.bind(Date);
  Date.now = () => now() + 11 * 60 * 1000;
}"""
FULL = """() => {
  Cache.prototype.put = async () => { throw new DOMException("no", "QuotaExceededError"); };
}"""


@dataclass
class Host:
    """A web server: *asked* are the paths below the site with the bytes sent for each."""

    folder: Path
    top: str = ""
    asked: list[tuple[str, int]] = field(default_factory=list)
    refuses: Callable[[str], bool] = lambda path: False

    @property
    def site(self) -> str:
        """The address of the site, below the top of the host."""
        return self.top + SUB_FOLDER

    def paths(self) -> set[str]:
        """What was asked for, but for the worker's script, which browsers look at by themselves."""
        return {path for path, _ in self.asked} - {"sw.js"}

    def sent(self) -> int:
        """Bytes of all bodies, but for the worker's script."""
        return sum(size for path, size in self.asked if path != "sw.js")


class _Counting(SimpleHTTPRequestHandler):
    def __init__(self, *args: Any, host: Host, **more: Any) -> None:
        self._host = host
        super().__init__(*args, **more)

    def do_GET(self) -> None:
        """Send a file and note it; refused ones end without an answer."""
        path = unquote(urlsplit(self.path).path).removeprefix("/" + SUB_FOLDER)
        file = Path(self.translate_path(self.path))
        file = file / "index.html" if file.is_dir() else file
        refused = self._host.refuses(path)
        self._host.asked.append((path, 0 if refused or not file.exists() else file.stat().st_size))
        if refused:
            self.close_connection = True
        else:
            super().do_GET()

    def end_headers(self) -> None:
        """Let nothing be kept by the browser's own cache, so that every need shows."""
        self.send_header("Cache-Control", "no-store")
        super().end_headers()

    def log_message(self, format: str, *args: Any) -> None:
        """Say nothing."""


@contextmanager
def hosted(folder: Path) -> Iterator[Host]:
    """Serve *folder*, which holds the site in a folder below, and count."""
    host = Host(folder)
    handler = functools.partial(_Counting, directory=str(folder), host=host)
    with ThreadingHTTPServer(("127.0.0.1", 0), handler) as server:
        server.daemon_threads = True
        Thread(target=server.serve_forever, daemon=True).start()
        host.top = f"http://127.0.0.1:{server.server_address[1]}/"
        yield host
        server.shutdown()


def publish_to(house: Path, folder: Path) -> Path:
    """Publish *house* below *folder* and return the site's own folder."""
    site = folder / SUB_FOLDER
    publish(read_house(house), TODAY, site)
    return site


def grow(site: Path) -> None:
    """Have the house told as one too large to be carried whole."""
    head = json.loads((site / "data/head.json").read_text())
    (site / "data/head.json").write_text(json.dumps({**head, "whole": 30_000_000}))


def carried_by(folder: Path) -> str:
    """Return the path of the list by which the newest edition below *folder* is carried."""
    return str(json.loads((folder / SUB_FOLDER / "data/head.json").read_text())["carry"])


def until(page: Page, true: Callable[[], object], seconds: float = 15) -> None:
    """Wait until something is true while the page lives on."""
    for _ in range(int(seconds * 20)):
        if true():
            return
        page.wait_for_timeout(50)
    raise AssertionError(f"not within {seconds} seconds")


# The edition that the worker carries, by what it keeps.
_NOW = """async () => {
  const held = await caches.open(`fb-known ${self.registration.scope}`);
  const [key] = await held.keys();
  const reply = key && await held.match(key);
  return (await reply?.json())?.now?.carry;
}"""


@dataclass
class Phone:
    """A window on a phone's screen with one page, and what went wrong on it."""

    window: BrowserContext
    seen: Watched
    host: Host

    @property
    def page(self) -> Page:
        """The one page."""
        return self.seen.page

    def open(self, path: str = "") -> Page:
        """Go to a page of the site."""
        self.page.goto(self.host.site + path)
        return self.page

    def carried(self) -> str:
        """Wait until the start page says what is carried, and return it."""
        line = self.page.locator(".carry [role=status]", has_text="Carried")
        line.wait_for(timeout=20_000)
        expect(self.page.locator(".carry .coming")).to_have_count(0)
        return line.inner_text()

    def first_visit(self) -> str:
        """Open the start page and wait until the house is carried."""
        self.open()
        return self.carried()

    def worker(self) -> Worker:
        """Return the service worker."""
        if not self.window.service_workers:
            self.window.wait_for_event("serviceworker")
        return self.window.service_workers[-1]

    def later(self) -> None:
        """Let eleven minutes go by for the worker, and have it look for what is newer."""
        self.worker().evaluate(LATER)
        self.page.evaluate("dispatchEvent(new Event('online'))")

    def taken_over(self) -> None:
        """Wait until the newest edition on the host is the one that is carried, and none else."""
        newest = carried_by(self.host.folder)
        until(self.page, lambda: self.worker().evaluate(_NOW) == newest)

    def stop(self) -> None:
        """Have the browser put the worker to sleep, as it does after half a minute."""
        session = self.window.new_cdp_session(self.page)
        session.send("ServiceWorker.enable")
        session.send("ServiceWorker.stopAllWorkers")
        session.detach()

    def kept(self) -> set[str]:
        """Return the paths of the files kept on the phone."""
        urls = self.page.evaluate(
            "caches.open(`fb-files ${new URL(document.body.dataset.root || './', location)}`)"
            ".then((held) => held.keys()).then((keys) => keys.map(({ url }) => url))"
        )
        return {unquote(url).removeprefix(self.host.site) for url in urls}


@contextmanager
def phone_at(browser: Browser, host: Host, script: str = "", **more: Any) -> Iterator[Phone]:
    """Give a phone that has never seen the site; *script* runs before each page's own."""
    window = browser.new_context(viewport=PHONE, has_touch=True, reduced_motion="reduce", **more)
    if script:
        window.add_init_script(script)
    yield Phone(window, watched(window), host)
    window.close()
