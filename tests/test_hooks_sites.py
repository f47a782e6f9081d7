"""A push is published in the process that serves it: what it goes by, and what stops it."""

from __future__ import annotations

import json
import os
import shutil
from collections.abc import Callable
from dataclasses import asdict
from datetime import date
from pathlib import Path

import pytest

from kb.errors import KbError, Problem
from kb.hooks import publishing, sites
from kb.hooks.proofs import Noted, prove_read
from kb.hooks.publishing import Publisher
from kb.hooks.settings import Settings, settings_of
from kb.hooks.sites import Order, UnfitHouseError
from kb.house import read_house
from kb.publish import Published
from tests.conftest import SOUND_BULLETIN, MakeHouse
from tests.gityard import BAD, Yard, other, remote, standing_in
from tests.test_hooks_push import first_push, page, pair, pattern, www, yard

__all__ = ["first_push", "pair", "pattern", "www", "yard"]

DAY = date(2026, 11, 25)
MADE_UP = Noted(
    Problem(
        file="2026/2026-014.md",
        line=7,
        level="error",
        rule="made-up",
        message="as kept",
        remedy="none",
    ),
    "built",
)


def proof(path: Path, *found: Noted) -> Path:
    path.write_text(json.dumps([asdict(each) for each in found]), encoding="utf-8")
    return path


def order(house: Path, kept: Path) -> Order:
    return Order(house, house.parent / "www", DAY, kept, keep=1, compress=False)


def nothing() -> None:
    """Wait for nobody."""


def test_a_house_is_judged_by_the_proof_that_is_kept(make_house: MakeHouse, tmp_path: Path) -> None:
    house = make_house({"2026/2026-014.md": SOUND_BULLETIN})
    kept = proof(tmp_path / "kept.json", MADE_UP)
    with pytest.raises(UnfitHouseError) as unfit:
        sites.publish(order(house, kept), nothing)
    assert list(unfit.value.errors) == [MADE_UP]
    assert not (tmp_path / "www").exists()


@pytest.mark.parametrize("kept", ["[]", "{", None])
def test_a_proof_that_misses_what_reading_met_or_cannot_be_read_is_made_anew_and_kept(
    make_house: MakeHouse, tmp_path: Path, kept: str | None
) -> None:
    house = read_house(make_house({"2026/2026-014.md": BAD}))
    path = tmp_path / "kept.json"
    if kept is not None:
        path.write_text(kept, encoding="utf-8")
    found = prove_read(path, house, DAY)
    assert any("52 weeks" in each.problem.message for each in found)
    assert json.loads(path.read_bytes()) == [asdict(each) for each in found]


def test_what_git_tells_a_hook_is_out_of_sight_while_a_site_is_made_and_there_afterwards(
    make_house: MakeHouse, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    seen: list[str] = []

    def looked(*asked: object) -> tuple[Noted, ...]:
        seen.append(" ".join(key for key in os.environ if key.startswith("GIT_")))
        raise KbError("that was all")

    monkeypatch.setenv("GIT_DIR", "elsewhere.git")
    monkeypatch.setattr(sites, "prove_read", looked)
    house = make_house({"2026/2026-014.md": SOUND_BULLETIN})
    with pytest.raises(KbError, match="that was all"):
        sites.publish(order(house, tmp_path / "kept.json"), nothing)
    assert seen == [""]
    assert os.environ["GIT_DIR"] == "elsewhere.git"


def failing_for(out: Path) -> Callable[[Order, Callable[[], None]], Published]:
    """Return a publisher with a fault of the program in it, for one folder alone."""

    def publish(asked: Order, waiting: Callable[[], None]) -> Published:
        if asked.out == out:
            raise LookupError("no such page")
        return Published(1, 46, 120, 0, 0, 0.1)

    return publish


def test_a_fault_of_the_program_is_told_and_logged_and_holds_up_no_other_branch(
    yard: Yard, pair: tuple[Path, Path], www: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    server, _ = pair
    yard.did(server, "branch", "draft/one", "main")
    drafts = yard.root / "drafts"
    said: list[str] = []
    monkeypatch.setattr(publishing, "publish", failing_for(www))
    with standing_in(yard, server) as repository:
        settings = Settings(out=www, previews=(("draft/*", drafts),))
        Publisher(repository, settings, DAY, said.append).round(afresh=True)
    assert said[0].startswith(f"main is accepted but not published; {www} is as it was: LookupErr")
    assert said[1].startswith("draft/one is published: 1 bulletin")
    log = (server / "kb/publishes.log").read_text(encoding="utf-8")
    assert "Traceback" in log
    assert "LookupError: no such page" in log
    served = json.loads((server / "kb/served.json").read_bytes())
    assert served[str(www)]["commit"] == ""  # the next push tries again
    assert served[str(drafts / "draft/one")]["commit"] == yard.did(server, "rev-parse", "main")


def test_what_stands_in_the_way_is_told_with_its_remedy_and_made_good_by_the_next_push(
    yard: Yard, pair: tuple[Path, Path], www: Path
) -> None:
    _, clerk = pair
    shutil.rmtree(www)
    www.write_text("in the way\n", encoding="utf-8")
    yard.put(clerk, {"2026/2026-021.md": other("2026-021")})
    yard.commit(clerk, "One more")
    told = yard.push(clerk)
    assert told.status == 0
    assert any(line.startswith("main is accepted but not published") for line in remote(told))
    assert any(line.startswith("    ") for line in remote(told))
    www.unlink()
    assert yard.push(clerk, "main:aside").status == 0
    assert page(www, "2026-021").is_file()


def test_how_sites_are_published_holds_from_then_on(
    yard: Yard, pair: tuple[Path, Path], www: Path
) -> None:
    server, _ = pair
    said = yard.hooks(server, "--compress", "--keep", "0").out
    assert "Packed copies" in said
    assert "Older editions kept to go back to: 0." in said
    assert page(www).with_suffix(".html.gz").is_file()
    assert yard.kb(server, "publish", "--back", "--out", str(www)).status == 1
    assert "Packed copies" in yard.hooks(server).out  # what is not named stays
    assert "Packed copies" not in yard.hooks(server, "--no-compress").out
    assert not page(www).with_suffix(".html.gz").exists()


@pytest.mark.parametrize(
    ("key", "text", "found"),
    [
        ("kb.keep", "7", (7, False)),
        ("kb.keep", "-1", (1, False)),
        ("kb.keep", "many", (1, False)),
        ("kb.compress", "on", (1, True)),
        ("kb.compress", "false", (1, False)),
    ],
)
def test_what_git_config_says_in_words_of_git_is_followed_and_nonsense_counts_as_not_set(
    pattern: Yard, tmp_path: Path, key: str, text: str, found: tuple[int, bool]
) -> None:
    yard = Yard.like(pattern, tmp_path)
    server = yard.root / "server.git"
    yard.did(server, "config", key, text)
    with standing_in(yard, server) as repository:
        settings = settings_of(repository)
    assert (settings.keep, settings.compress) == found
