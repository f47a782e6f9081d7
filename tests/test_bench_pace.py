"""The pace at which the benchmarks serve and run a browser."""

from __future__ import annotations

import gzip
import http.client
import os
import time
from pathlib import Path
from threading import Thread
from urllib.parse import urlsplit

import pytest
from playwright.sync_api import Browser

from tests.bench.slow_cpu import page_processes, slowed
from tests.bench.slow_server import Pace, slowly_served

TEXT = b"hums and does not drain\n" * 400


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "index.html").write_bytes(TEXT)
    (tmp_path / "piece.bin").write_bytes(os.urandom(20_000))
    return tmp_path


def fetched(address: str, *paths: str) -> list[tuple[int, bytes, dict[str, str]]]:
    """Return status, body and head of each path, over one connection."""
    line = http.client.HTTPConnection(urlsplit(address).netloc, timeout=30)
    found = []
    for path in paths:
        line.request("GET", f"/{path}")
        answer = line.getresponse()
        found.append((answer.status, answer.read(), dict(answer.getheaders())))
    line.close()
    return found


def test_every_request_waits_one_round_trip(folder: Path) -> None:
    with slowly_served(folder, Pace(rate=1e9, round_trip=0.1)) as address:
        begun = time.monotonic()
        fetched(address, "", "piece.bin", "nothing")
        assert time.monotonic() - begun >= 0.3


def test_all_connections_share_the_rate(folder: Path) -> None:
    with slowly_served(folder, Pace(rate=100_000, round_trip=0)) as address:
        begun = time.monotonic()
        several = [Thread(target=fetched, args=(address, "piece.bin")) for _ in range(4)]
        for each in several:
            each.start()
        for each in several:
            each.join()
        assert time.monotonic() - begun >= 80_000 / 100_000


def test_heads_and_bodies_are_counted(folder: Path) -> None:
    pace = Pace(rate=1e9, round_trip=0)
    with slowly_served(folder, pace) as address:
        ((status, body, _),) = fetched(address, "piece.bin")
        assert (status, len(body)) == (200, 20_000)
        assert 20_100 < pace.sent < 20_500
        assert pace.asked == [("/piece.bin", pace.sent)]
        pace.start_over()
        fetched(address, "", "nothing")
        assert [path for path, _ in pace.asked] == ["/", "/nothing"]
        assert pace.sent == sum(size for _, size in pace.asked) > len(TEXT)


def test_texts_are_packed_only_where_the_server_is_told_to(folder: Path) -> None:
    for packed in (False, True):
        with slowly_served(folder, Pace(rate=1e9, round_trip=0, gzip=packed)) as address:
            (_, text, head), (_, piece, plain) = fetched(address, "", "piece.bin")
        assert (head.get("Content-Encoding") == "gzip") is packed
        assert (gzip.decompress(text) if packed else text) == TEXT
        assert "Content-Encoding" not in plain
        assert len(piece) == 20_000


def test_what_is_not_there_is_not_found_and_nothing_outside_is_served(folder: Path) -> None:
    with slowly_served(folder / "..", Pace(rate=1e9, round_trip=0)) as address:
        found = fetched(address, "nothing", "../../../etc/passwd", "%2e%2e/%2e%2e/etc/passwd")
    assert [status for status, _, _ in found] == [404, 404, 404]


def states(processes: list[int]) -> set[str]:
    """Return the states of processes as the kernel names them; T is a stopped one."""
    found = (Path(f"/proc/{process}/stat").read_text() for process in processes)
    return {text.rpartition(")")[2].split()[0] for text in found}


def test_the_pages_of_a_browser_are_stopped_a_part_of_the_time_and_left_running(
    browser: Browser,
) -> None:
    window = browser.new_context()
    page = window.new_page()
    page.goto("data:text/html,<p>x</p>")
    processes = page_processes()
    assert processes
    with slowed(4):
        seen: set[str] = set()
        for _ in range(200):
            seen |= states(processes)
            time.sleep(0.002)
        assert page.evaluate("1 + 1") == 2
    assert "T" in seen
    assert seen != {"T"}
    assert "T" not in states(processes)
    window.close()
