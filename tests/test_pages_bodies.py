"""Bodies of a large house: what they tell is kept, what their HTML is made from is read again."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from kb.house import read_house
from kb.markup import outline, read
from kb.pages import Desk, Page, all_pages, desk
from kb.render import Renderer

DEMO = Path(__file__).resolve().parent.parent / "bulletins"
TODAY = date(2026, 11, 25)


def test_no_more_outlines_are_kept_than_there_is_room_for(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(desk, "_OUTLINES", 3)
    made = Desk(read_house(DEMO), TODAY)
    for bulletin in made.house.bulletins:
        whole = read(bulletin.body, bulletin.body_line, made.folder(bulletin))
        told = made.told(bulletin)
        assert (told.text, told.first_paragraph) == (whole.text, whole.first_paragraph)
        assert (told.pictures, told.notes, told.files) == (whole.pictures, whole.notes, whole.files)
        assert not told.tokens
        assert made.outline(bulletin) == outline(whole)
    assert len(made.house.bulletins) > 3
    assert len(made._outlines) == 3


def test_pages_are_the_same_whether_bodies_are_kept_or_read_again(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    house, renderer = read_house(DEMO), Renderer()

    def shown() -> list[str]:
        pages = (page for page in all_pages(house, TODAY, Desk(house, TODAY)))
        return [renderer.text(p) for p in pages if isinstance(p, Page) and "bulletins/" in p.path]

    kept = shown()
    monkeypatch.setattr(desk, "_OUTLINES", 1)
    assert shown() == kept
