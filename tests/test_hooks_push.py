"""Pushes: proofed before they are accepted, published after; seen as the one who pushes sees it."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from tests.conftest import SOUND_BULLETIN
from tests.gityard import BAD, BAD_LINE, HOUSE, Told, Yard, other, remote


@pytest.fixture
def yard(tmp_path: Path) -> Yard:
    return Yard(tmp_path)


@pytest.fixture
def www(yard: Yard) -> Path:
    return yard.root / "www"


@pytest.fixture(scope="module")
def first_push(tmp_path_factory: pytest.TempPathFactory) -> tuple[Yard, Told]:
    """A yard with a server that publishes, and what a clerk was told who pushed the house to it."""
    made = Yard(tmp_path_factory.mktemp("pattern"))
    _, clerk = made.served("--out", str(made.root / "www"))
    return made, made.push(clerk)


@pytest.fixture(scope="module")
def pattern(first_push: tuple[Yard, Told]) -> Yard:
    """The yard that others are made like, which is left as it is."""
    made, told = first_push
    assert told.status == 0
    return made


@pytest.fixture
def pair(pattern: Yard, tmp_path: Path) -> tuple[Path, Path]:
    """A server that publishes, with the house pushed to it, and the clerk's clone."""
    root = Yard.like(pattern, tmp_path).root
    return root / "server.git", root / "clerk of server.git"


def page(www: Path, number: str = "2026-014") -> Path:
    return www / "bulletins" / number / "index.html"


def test_what_is_accepted_is_published_and_said(first_push: tuple[Yard, Told]) -> None:
    made, told = first_push
    www = made.root / "www"
    assert told.status == 0
    assert remote(told)[0] == "Proofed: nothing is wrong."
    assert remote(told)[1].startswith("main is published: 1 bulletin, ")
    assert remote(told)[2] == str(www)
    assert page(www).is_file()


def test_a_new_error_refuses_the_push_in_the_terminal_of_the_one_who_pushes_until_it_is_mended(
    yard: Yard, pair: tuple[Path, Path], www: Path
) -> None:
    server, clerk = pair
    before = yard.did(server, "rev-parse", "main"), page(www).read_bytes()
    yard.put(clerk, {"2026/2026-014.md": BAD, "2026/2026-021.md": other("2026-021")})
    yard.commit(clerk, "Bad")
    told = yard.push(clerk)
    assert told.status == 1
    lines = remote(told)
    assert lines[0].startswith(BAD_LINE)
    assert "1 error in 1 file." in lines
    assert lines[-2:] == [
        "The push is not accepted; main is as it was.",
        "Mend the lines above, commit, and push again.",
    ]
    assert before == (yard.did(server, "rev-parse", "main"), page(www).read_bytes())
    assert not page(www, "2026-021").exists()
    yard.put(clerk, {"2026/2026-014.md": SOUND_BULLETIN.replace("cold", "frosty")})
    yard.commit(clerk, "Mended")
    assert yard.push(clerk).status == 0
    assert "frosty" in page(www).read_text(encoding="utf-8")


def test_a_bulletin_taken_away_goes_from_the_site_and_a_forced_push_back_brings_it_again(
    yard: Yard, pair: tuple[Path, Path], www: Path
) -> None:
    _, clerk = pair
    yard.did(clerk, "rm", "-q", "bulletins/2026/2026-014.md")
    yard.put(clerk, {"2026/2026-021.md": other("2026-021")})
    yard.commit(clerk, "One less, one more")
    assert yard.push(clerk).status == 0
    assert not page(www).exists()
    assert page(www, "2026-021").is_file()
    yard.did(clerk, "reset", "-q", "--hard", "HEAD~1")
    assert yard.push(clerk, "--force", "main").status == 0
    assert page(www).is_file()
    assert not page(www, "2026-021").exists()


@pytest.mark.parametrize("lost", ["commit", "export"])
def test_where_the_last_export_or_its_commit_is_swept_away_nothing_is_left_out_or_behind(
    yard: Yard, pair: tuple[Path, Path], www: Path, lost: str
) -> None:
    server, clerk = pair
    (export,) = (server / "kb/exports").iterdir()
    (export / "bulletins/2026/2026-098.md").write_text(other("2026-098"), encoding="utf-8")
    if lost == "commit":
        kept = server / "kb/served.json"
        tip = yard.did(server, "rev-parse", "main")
        kept.write_text(kept.read_text().replace(tip, "1" * 40))
    else:
        shutil.rmtree(export)
    yard.put(clerk, {"2026/2026-022.md": other("2026-022")})
    yard.commit(clerk, "Another")
    assert yard.push(clerk).status == 0
    assert page(www).is_file()
    assert page(www, "2026-022").is_file()
    assert not page(www, "2026-098").exists()


def test_old_errors_let_a_push_in_and_it_is_said_that_they_hold_up_the_site(
    yard: Yard, www: Path
) -> None:
    server, clerk = yard.root / "server.git", yard.clone()
    yard.put(clerk, {"2026/2026-014.md": BAD})
    yard.commit(clerk, "Bad from the beginning")
    yard.did(yard.root, "clone", "-q", "--bare", str(clerk), str(server))
    yard.did(clerk, "remote", "add", "origin", str(server))
    set_up = yard.hooks(server, "--out", str(www))
    assert "main is accepted but not published" in set_up.out
    yard.put(clerk, {"2026/2026-021.md": other("2026-021")})
    yard.commit(clerk, "Sound")
    told = yard.push(clerk)
    assert told.status == 0
    assert "Stood there before, no reason to refuse: 1 error." in remote(told)
    assert f"main is accepted but not published; {www} is as it was." in remote(told)
    assert not page(www).exists()
    yard.put(clerk, {"2026/2026-014.md": SOUND_BULLETIN})
    yard.commit(clerk, "Mended")
    assert "main is published" in yard.push(clerk).err
    assert page(www, "2026-021").is_file()


def test_the_first_run_on_a_full_repository_publishes_at_once(yard: Yard, www: Path) -> None:
    server = yard.root / "server.git"
    yard.did(yard.root, "clone", "-q", "--bare", str(yard.clone()), str(server))
    assert "main is published" in yard.hooks(server, "--out", str(www)).out
    assert page(www).is_file()


def test_other_branches_and_tags_are_neither_proofed_nor_published(
    yard: Yard, pair: tuple[Path, Path], www: Path
) -> None:
    _, clerk = pair
    yard.did(clerk, "switch", "-q", "-c", "trial")
    yard.put(clerk, {"2026/2026-014.md": BAD})
    yard.commit(clerk, "Bad")
    yard.did(clerk, "tag", "-a", "-m", "A tag", "spring")
    told = yard.push(clerk, "trial", "spring")
    assert (told.status, remote(told)) == (0, [])
    assert "W54" not in page(www).read_text(encoding="utf-8")


def test_of_many_names_in_one_push_the_published_branch_decides(
    yard: Yard, pair: tuple[Path, Path], www: Path
) -> None:
    server, clerk = pair
    for number in range(30):
        yard.did(clerk, "branch", f"side/{number}")
        yard.did(clerk, "tag", f"v{number}")
    yard.put(clerk, {"2026/2026-014.md": BAD})
    yard.commit(clerk, "Bad")
    assert yard.push(clerk, "--all", "--follow-tags").status == 1
    assert "side/3" not in yard.did(server, "branch", "--list")
    yard.put(clerk, {"2026/2026-014.md": SOUND_BULLETIN, "2026/2026-021.md": other("2026-021")})
    yard.commit(clerk, "Mended")
    assert yard.push(clerk, "--all").status == 0
    assert page(www, "2026-021").is_file()


def test_deleting_the_published_branch_leaves_the_site(
    yard: Yard, pair: tuple[Path, Path], www: Path
) -> None:
    server, clerk = pair
    yard.did(server, "config", "receive.denyDeleteCurrent", "ignore")
    told = yard.push(clerk, ":main")
    assert told.status == 0
    assert "the site stays as it was published last" in " ".join(remote(told))
    yard.put(clerk, {"2026/2026-021.md": other("2026-021")})
    yard.commit(clerk, "On trial")
    assert yard.push(clerk, "main:trial").status == 0  # the one branch there is, and not for all
    assert page(www).is_file()
    assert not page(www, "2026-021").exists()
    assert yard.push(clerk).status == 0
    assert page(www, "2026-021").is_file()


def test_a_server_begun_with_another_first_branch_takes_the_one_that_comes(
    yard: Yard, www: Path
) -> None:
    server, clerk = yard.root / "server.git", yard.clone()
    yard.did(yard.root, "init", "-q", "--bare", "-b", "trunk", str(server))
    yard.hooks(server, "--out", str(www))
    yard.did(clerk, "remote", "add", "origin", str(server))
    told = yard.push(clerk)
    assert "main is the published branch from now on" in " ".join(remote(told))
    assert page(www).is_file()
    yard.did(clerk, "switch", "-q", "-c", "side")
    yard.push(clerk, "side")
    yard.put(clerk, {"2026/2026-021.md": other("2026-021")})
    yard.commit(clerk, "One more")
    yard.push(clerk, "side:main")
    assert page(www, "2026-021").is_file()


def test_a_push_that_misses_the_published_branch_is_told_so(yard: Yard, www: Path) -> None:
    server, clerk = yard.served("--out", str(www))
    yard.did(server, "symbolic-ref", "HEAD", "refs/heads/trunk")
    yard.did(clerk, "branch", "side")
    told = yard.push(clerk, "main", "side")
    assert told.status == 0
    assert "the published branch is trunk, which does not exist" in " ".join(remote(told))
    assert not page(www).exists()


def test_git_config_names_another_published_branch(yard: Yard, www: Path) -> None:
    server, clerk = yard.served("--out", str(www))
    yard.did(server, "config", "kb.branch", "live")
    yard.push(clerk, "main")
    assert not page(www).exists()
    assert yard.push(clerk, "main:live").status == 0
    assert page(www).is_file()


def test_a_repository_without_a_house_is_let_through_and_told(yard: Yard, www: Path) -> None:
    _, clerk = yard.served("--out", str(www))
    yard.did(clerk, "rm", "-rq", "bulletins")
    (clerk / "notes.txt").write_text("nothing to proof\n", encoding="utf-8")
    yard.did(clerk, "add", "-A")
    yard.did(clerk, "commit", "-q", "--amend", "-m", "Notes alone")
    told = yard.push(clerk)
    assert told.status == 0
    assert all("No bulletins here" in line or "nothing was" in line for line in remote(told))
    assert len(remote(told)) >= 2
    assert not www.exists()


def test_a_house_anywhere_in_the_tree_under_odd_names_is_published(yard: Yard, www: Path) -> None:
    house = "Bücher und Blätter/rundbriefe"
    _, clerk = yard.served("--out", str(www))
    yard.did(clerk, "rm", "-rq", "bulletins")
    yard.put(clerk, {**HOUSE, "2026/Tür klemmt.md": other("2026-021")}, house)
    yard.commit(clerk, "Elsewhere")
    yard.did(clerk, "push", "-q", "origin", "main")
    assert page(www, "2026-021").is_file()
    yard.put(clerk, {"2026/Tür klemmt.md": other("2026-021", "codes: [E99]")}, house)
    yard.commit(clerk, "Bad")
    assert remote(yard.push(clerk))[0].startswith(f"{house}/2026/Tür klemmt.md:")


def test_a_bare_repository_without_out_proofs_and_publishes_nothing(yard: Yard) -> None:
    server, clerk = yard.served()
    assert not (server / "hooks/post-receive").exists()
    assert yard.push(clerk).status == 0
    yard.put(clerk, {"2026/2026-014.md": BAD})
    yard.commit(clerk, "Bad")
    assert yard.push(clerk).status == 1


def test_a_repository_with_a_work_tree_publishes_what_is_committed_and_pushed(
    yard: Yard, www: Path
) -> None:
    desk = yard.clone("desk")
    yard.put(desk, {"2026/2026-021.md": other("2026-021")})  # lies there, is in no commit
    yard.hooks(desk, "--out", str(www))
    assert page(www).is_file()
    assert not page(www, "2026-021").exists()
    assert "main is published" in yard.commit(desk, "One more").err
    assert page(www, "2026-021").is_file()

    yard.did(desk, "config", "receive.denyCurrentBranch", "updateInstead")
    clerk = yard.root / "clerk"
    yard.did(yard.root, "clone", "-q", str(desk), str(clerk))
    yard.put(clerk, {"2026/2026-022.md": other("2026-022")})
    yard.commit(clerk, "Another")
    assert "main is published" in yard.push(clerk).err
    assert page(www, "2026-022").is_file()
    yard.put(clerk, {"2026/2026-014.md": BAD})
    yard.commit(clerk, "Bad")
    assert yard.push(clerk).status == 1


def test_a_switch_of_branch_in_a_work_tree_does_not_change_what_is_published(
    yard: Yard, www: Path
) -> None:
    desk = yard.clone("desk")
    yard.hooks(desk, "--out", str(www))
    yard.did(desk, "switch", "-q", "-c", "trial")
    yard.put(desk, {"2026/2026-021.md": other("2026-021")})
    assert yard.commit(desk, "On trial").status == 0
    assert not page(www, "2026-021").exists()
    yard.did(desk, "switch", "-q", "main")
    yard.did(desk, "merge", "-q", "--no-edit", "trial")
    assert page(www, "2026-021").is_file()


def test_the_log_tells_of_every_publish(yard: Yard, pair: tuple[Path, Path], www: Path) -> None:
    server, _ = pair
    commit = yard.did(server, "rev-parse", "main")
    begun, done = (server / "kb/publishes.log").read_text(encoding="utf-8").splitlines()
    assert f"main {commit} begun: {www}" in begun
    assert f"main {commit} published in " in done


def test_the_same_tree_is_never_proofed_twice(yard: Yard, pair: tuple[Path, Path]) -> None:
    server, clerk = pair
    proofs = server / "kb/proofs"
    first = {path: path.stat().st_mtime_ns for path in proofs.iterdir()}
    assert len(first) == 1
    (clerk / "notes.txt").write_text("beside\n", encoding="utf-8")
    yard.commit(clerk, "Beside the house")
    assert yard.push(clerk).status == 0
    yard.did(clerk, "commit", "-q", "--amend", "-m", "In other words")
    assert yard.push(clerk, "--force", "main").status == 0
    assert {path: path.stat().st_mtime_ns for path in proofs.iterdir()} == first


def test_a_damaged_proof_or_record_is_made_again(
    yard: Yard, pair: tuple[Path, Path], www: Path
) -> None:
    server, clerk = pair
    for path in [*(server / "kb/proofs").iterdir(), server / "kb/served.json"]:
        path.write_text("{", encoding="utf-8")
    yard.put(clerk, {"2026/2026-014.md": BAD})
    yard.commit(clerk, "Bad")
    assert yard.push(clerk).status == 1
    yard.put(clerk, {"2026/2026-014.md": SOUND_BULLETIN, "2026/2026-021.md": other("2026-021")})
    yard.commit(clerk, "Mended")
    assert yard.push(clerk).status == 0
    assert page(www, "2026-021").is_file()


def test_after_remove_pushes_go_unproofed_and_the_site_stays(
    yard: Yard, pair: tuple[Path, Path], www: Path
) -> None:
    server, clerk = pair
    assert f"The site in {www} stays as it is." in yard.hooks(server, "--remove").out
    assert not (server / "kb").exists()
    assert "kb." not in yard.did(server, "config", "--local", "--list")
    yard.put(clerk, {"2026/2026-014.md": BAD})
    yard.commit(clerk, "Bad")
    told = yard.push(clerk)
    assert (told.status, remote(told)) == (0, [])
    assert page(www).is_file()
