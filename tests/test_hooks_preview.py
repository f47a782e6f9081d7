"""Previews of other branches: each in its folder while the branch lives."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.gityard import BAD, Yard, other, remote


@pytest.fixture
def yard(tmp_path: Path) -> Yard:
    return Yard(tmp_path)


def site(folder: Path, number: str = "2026-014") -> Path:
    return folder / "bulletins" / number / "index.html"


@pytest.fixture(scope="module")
def pattern(tmp_path_factory: pytest.TempPathFactory) -> Yard:
    """A yard with a server that publishes and previews, and the house pushed to three branches."""
    made = Yard(tmp_path_factory.mktemp("pattern"))
    www, drafts = made.root / "www", made.root / "drafts"
    _, clerk = made.served("--out", str(www), "--preview", "draft/*", str(drafts))
    assert made.push(clerk, "main", "main:draft/a", "main:draft/b").status == 0
    return made


@pytest.fixture
def places(pattern: Yard, tmp_path: Path) -> tuple[Path, Path, Path]:
    """The clerk's clone, the folder of the site and that of the previews."""
    root = Yard.like(pattern, tmp_path).root
    return root / "clerk of server.git", root / "www", root / "drafts"


def test_a_branch_that_fits_gets_a_preview_and_the_site_stays(
    yard: Yard, places: tuple[Path, Path, Path]
) -> None:
    clerk, www, drafts = places
    yard.did(clerk, "switch", "-q", "-c", "draft/spring")
    yard.put(clerk, {"2026/2026-021.md": other("2026-021")})
    yard.commit(clerk, "One more")
    told = yard.push(clerk, "draft/spring")
    assert remote(told)[0].startswith("draft/spring is published: 2 bulletins")
    assert remote(told)[1] == str(drafts / "draft/spring")
    assert site(drafts / "draft/spring", "2026-021").is_file()
    assert not site(www, "2026-021").exists()


def test_a_draft_that_comes_first_is_not_taken_for_the_published_branch(yard: Yard) -> None:
    www, drafts = yard.root / "www", yard.root / "drafts"
    server, clerk = yard.served("--out", str(www), "--preview", "draft/*", str(drafts))
    assert yard.push(clerk, "main:draft/a").status == 0
    assert site(drafts / "draft/a").is_file()
    assert not www.exists()
    assert yard.git(server, "config", "kb.branch").status == 1
    assert yard.push(clerk).status == 0
    assert site(www).is_file()


def test_a_branch_that_does_not_fit_gets_none(yard: Yard, places: tuple[Path, Path, Path]) -> None:
    clerk, _, drafts = places
    yard.push(clerk, "main:trial")
    assert site(drafts / "draft/a").is_file()
    assert not (drafts / "trial").exists()


def test_errors_do_not_refuse_a_draft_but_are_told_and_hold_up_its_preview(
    yard: Yard, places: tuple[Path, Path, Path]
) -> None:
    clerk, _, drafts = places
    yard.put(clerk, {"2026/2026-014.md": BAD})
    yard.commit(clerk, "Bad")
    told = yard.push(clerk, "main:draft/bad")
    assert told.status == 0
    assert any(line.startswith("draft/bad is accepted but not published") for line in remote(told))
    assert any(line.startswith("bulletins/2026/2026-014.md:7:") for line in remote(told))
    assert not site(drafts / "draft/bad").exists()


def test_with_its_branch_a_preview_goes_and_files_of_others_stay(
    yard: Yard, places: tuple[Path, Path, Path]
) -> None:
    clerk, www, drafts = places
    foreign = drafts / "draft/a/bulletins/notes.txt"
    foreign.write_text("not ours\n", encoding="utf-8")
    told = yard.push(clerk, ":draft/a", ":draft/b")
    assert told.status == 0
    assert f"The preview of draft/a is removed: {drafts / 'draft/a'}" in remote(told)
    left = [path for path in drafts.rglob("*") if path.is_file()]
    assert left == [foreign]
    assert not (drafts / "draft/b").exists()
    assert site(www).is_file()


def test_a_pattern_without_signs_names_one_branch_and_its_very_folder(
    yard: Yard, places: tuple[Path, Path, Path]
) -> None:
    clerk, _, _ = places
    next_issue = yard.root / "next"
    yard.did(yard.root / "server.git", "config", "kb.next.preview", str(next_issue))
    yard.push(clerk, "main:next")
    assert site(next_issue).is_file()


def test_trouble_with_one_preview_holds_up_no_other_branch(
    yard: Yard, places: tuple[Path, Path, Path]
) -> None:
    clerk, www, drafts = places
    for listed in (drafts / "draft/a/.kb-site").iterdir():
        listed.write_text("../outside\n", encoding="utf-8")
    yard.put(clerk, {"2026/2026-021.md": other("2026-021")})
    yard.commit(clerk, "One more")
    told = yard.push(clerk, "main", ":draft/a", "main:draft/b")
    assert told.status == 0
    assert any("draft/a is not removed" in line for line in remote(told))
    assert site(drafts / "draft/a").is_file()
    assert site(www, "2026-021").is_file()
    assert site(drafts / "draft/b", "2026-021").is_file()


def test_remove_takes_previews_away_and_leaves_the_site(
    yard: Yard, places: tuple[Path, Path, Path]
) -> None:
    _, www, drafts = places
    told = yard.hooks(yard.root / "server.git", "--remove")
    assert "The preview of draft/a is removed" in told.out
    assert not list(drafts.rglob("*.html"))
    assert site(www).is_file()
    assert yard.git(yard.root / "server.git", "config", "--get-regexp", "^kb").status == 1
