"""Setting up and undoing: what is in a repository before stays, keeps running, and comes back."""

from __future__ import annotations

import os
import shutil
import sys
from pathlib import Path

import pytest

from tests.gityard import BAD, BAD_LINE, Yard, other, remote

TELLER = """\
#!/bin/sh
echo "$0 was here" >&2
exit ${REFUSE:-0}
"""


@pytest.fixture
def yard(tmp_path: Path) -> Yard:
    return Yard(tmp_path)


def hook(folder: Path, name: str, text: str = TELLER, mode: int = 0o755) -> Path:
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / name
    path.write_text(text, encoding="utf-8")
    path.chmod(mode)
    return path


def picture(where: Path) -> dict[str, tuple[bytes, int]]:
    """Everything in a git folder that tells how it is set up, with contents and modes."""
    folder = where / ".git" if (where / ".git").is_dir() else where
    return {
        path.relative_to(folder).as_posix(): (path.read_bytes(), path.stat().st_mode)
        for path in sorted(folder.rglob("*"))
        if path.is_file() and path.relative_to(folder).parts[0] not in ("objects", "logs", "index")
    }


def test_a_second_run_changes_nothing(yard: Yard) -> None:
    clerk = yard.clone()
    first = yard.hooks(clerk)
    before = picture(clerk)
    assert yard.hooks(clerk).out == first.out
    assert picture(clerk) == before


@pytest.mark.parametrize("path", ["", ".githooks", "absolute"])
@pytest.mark.parametrize("taken", [False, True])
def test_remove_leaves_the_repository_as_it_was(yard: Yard, path: str, taken: bool) -> None:
    clerk = yard.clone()
    folder = yard.root / "hooks" if path == "absolute" else clerk / (path or ".git/hooks")
    if taken:
        hook(folder, "pre-commit")
    if path:
        yard.did(clerk, "config", "core.hooksPath", str(folder) if path == "absolute" else path)
    before, config = picture(clerk), yard.did(clerk, "config", "--local", "--list")
    yard.hooks(clerk)
    assert picture(clerk) != before
    told = yard.hooks(clerk, "--remove")
    assert "removed" in told.out
    assert yard.did(clerk, "config", "--local", "--list") == config
    after = picture(clerk)
    assert after.pop("config")[1] == before.pop("config")[1]
    assert after == before
    assert (clerk / ".git/kb").exists() is False


def test_remove_where_nothing_is_says_so(yard: Yard) -> None:
    assert "no hooks of kb" in yard.hooks(yard.clone(), "--remove").out


def test_a_hook_that_was_there_stays_where_it_is_and_runs_first(yard: Yard) -> None:
    clerk = yard.clone()
    former = hook(clerk / ".git/hooks", "pre-commit")
    before = former.read_bytes()
    assert "The pre-commit that was here stays and runs first." in yard.hooks(clerk).out
    assert former.read_bytes() == before
    yard.put(clerk, {"2026/2026-014.md": BAD})
    lines = yard.commit(clerk, "Bad").err.split("\n")
    assert lines[0] == f"{former} was here"  # under its own name, which some hooks go by
    assert lines[1].startswith(BAD_LINE)


def test_a_hook_that_was_there_and_refuses_has_the_last_word(yard: Yard) -> None:
    clerk = yard.clone()
    hook(clerk / ".git/hooks", "pre-commit")
    yard.hooks(clerk)
    yard.put(clerk, {"2026/2026-014.md": BAD})
    yard.did(clerk, "add", "-A")
    told = yard.git(clerk, "commit", "-m", "Bad", env={"REFUSE": "3"})
    assert told.status == 1
    assert BAD_LINE not in told.err


def test_a_hook_that_is_not_executable_is_named_and_passed_over_as_git_does(yard: Yard) -> None:
    clerk = yard.clone()
    hook(clerk / ".git/hooks", "pre-commit", mode=0o644)
    assert "not executable" in yard.hooks(clerk).out
    yard.put(clerk, {"2026/2026-014.md": BAD})
    told = yard.commit(clerk, "Bad")
    assert "was here" not in told.err
    assert BAD_LINE in told.err


def test_other_hooks_of_the_repository_keep_running_those_added_later_too(yard: Yard) -> None:
    clerk = yard.clone()
    hook(clerk / ".git/hooks", "pre-commit")
    early = hook(clerk / ".git/hooks", "commit-msg")
    yard.hooks(clerk)
    later = hook(clerk / ".git/hooks", "post-commit")
    yard.put(clerk, {"2026/2026-021.md": other("2026-021")})
    told = yard.commit(clerk, "Sound")
    assert told.status == 0
    assert f"{early} was here" in told.err
    assert f"{later} was here" in told.err


def test_a_hooks_folder_that_is_kept_in_the_tree_is_not_written_to(yard: Yard) -> None:
    clerk = yard.clone()
    hook(clerk / ".githooks", "pre-commit")
    yard.did(clerk, "config", "core.hooksPath", ".githooks")
    yard.commit(clerk, "Hooks of ours")
    yard.hooks(clerk)
    assert yard.did(clerk, "status", "--porcelain") == ""
    yard.put(clerk, {"2026/2026-014.md": BAD})
    told = yard.commit(clerk, "Bad")
    assert ".githooks/pre-commit was here" in told.err
    assert BAD_LINE in told.err


def test_hooks_for_all_repositories_of_a_machine_stay_untouched(yard: Yard) -> None:
    shared = yard.root / "shared hooks"
    everywhere = hook(shared, "pre-commit")
    clerk, beside = yard.clone(), yard.clone("beside")
    yard.did(clerk, "config", "--global", "core.hooksPath", str(shared))
    yard.hooks(clerk)
    yard.hooks(clerk)
    assert list(shared.iterdir()) == [everywhere]
    for where, refused in ((clerk, True), (beside, False)):
        yard.put(where, {"2026/2026-014.md": BAD})
        told = yard.commit(where, "Bad")
        assert f"{everywhere} was here" in told.err
        assert (BAD_LINE in told.err) is refused
    yard.hooks(clerk, "--remove")
    assert yard.did(clerk, "config", "core.hooksPath") == str(shared)


def test_a_hooks_path_that_is_set_later_is_taken_up_by_the_next_run(yard: Yard) -> None:
    clerk = yard.clone()
    yard.hooks(clerk)
    hook(clerk / ".githooks", "pre-commit")
    yard.did(clerk, "config", "core.hooksPath", ".githooks")
    yard.hooks(clerk)
    yard.put(clerk, {"2026/2026-014.md": BAD})
    told = yard.commit(clerk, "Bad")
    assert "was here" in told.err
    assert told.err.count(BAD_LINE) == 1
    yard.hooks(clerk, "--remove")
    assert yard.did(clerk, "config", "core.hooksPath") == ".githooks"


def test_a_hooks_path_of_one_work_tree_alone_is_refused_with_the_way_out(yard: Yard) -> None:
    clerk = yard.clone()
    yard.did(clerk, "config", "extensions.worktreeConfig", "true")
    yard.did(clerk, "config", "--worktree", "core.hooksPath", "elsewhere")
    told = yard.kb(clerk, "hooks")
    assert told.status == 1
    assert "git config --worktree --unset core.hooksPath" in " ".join(told.err.split())


def test_both_hooks_of_a_push_are_given_all_names(yard: Yard) -> None:
    server = yard.root / "server.git"
    yard.did(yard.root, "init", "-q", "--bare", str(server))
    reader = '#!/bin/sh\nwhile read -r old new name; do echo "former: $name"; done\n'
    hook(server / "hooks", "pre-receive", reader)
    hook(server / "hooks", "post-receive", reader.replace("former", "after") + "exit 3\n")
    yard.hooks(server, "--out", str(yard.root / "www"))
    clerk = yard.clone()
    yard.did(clerk, "remote", "add", "origin", str(server))
    yard.did(clerk, "tag", "Märzausgabe")
    told = remote(yard.push(clerk, "main", "Märzausgabe"))
    assert "former: refs/heads/main" in told
    assert "former: refs/tags/Märzausgabe" in told
    assert "after: refs/heads/main" in told
    assert any(line.startswith("main is published") for line in told)


def test_repositories_in_folders_with_odd_names_are_served(yard: Yard) -> None:
    clerk = yard.clone('it\'s a "quoted" Büro $HOME `x`')
    hook(clerk / ".git/hooks", "pre-commit")
    yard.hooks(clerk)
    yard.put(clerk, {"2026/2026-014.md": BAD})
    told = yard.commit(clerk, "Bad")
    assert "was here" in told.err
    assert BAD_LINE in told.err


def test_the_hook_finds_its_python_with_no_path_and_beside_a_folder_named_kb(yard: Yard) -> None:
    clerk = yard.clone()
    yard.hooks(clerk)
    (clerk / "kb").mkdir()
    (clerk / "kb/__init__.py").write_text("raise SystemExit('not this one')\n", encoding="utf-8")
    yard.put(clerk, {"2026/2026-014.md": BAD})
    yard.did(clerk, "add", "-A")
    git = shutil.which("git") or "git"
    bare = {"PATH": "", "PYTHONPATH": str(clerk), "PYTHONHOME": "/nowhere", "LC_ALL": "C"}
    told = yard.run(clerk, git, "commit", "-m", "Bad", env=bare)
    assert told.status == 1
    assert BAD_LINE in told.err


@pytest.mark.parametrize("gone", ["python", "program"])
def test_a_hook_whose_program_is_gone_says_so_in_plain_words(yard: Yard, gone: str) -> None:
    clerk = yard.clone()
    yard.hooks(clerk)
    script = clerk / ".git/hooks/pre-commit"
    lines = script.read_text(encoding="utf-8").split("\n")
    moved = [f"{gone}=/gone/away" if line.startswith(f"{gone}=") else line for line in lines]
    script.write_text("\n".join(moved), encoding="utf-8")
    yard.put(clerk, {"2026/2026-021.md": other("2026-021")})
    told = yard.commit(clerk, "Sound")
    assert told.status == 1
    assert "is no longer at" in told.err
    assert "kb hooks --remove" in told.err
    assert "--no-verify" in told.err
    assert "Traceback" not in told.err


def test_outside_of_a_repository_that_is_said(yard: Yard) -> None:
    told = yard.kb(yard.home, "hooks")
    assert told.status == 1
    assert "no git repository" in " ".join(told.err.split())
    assert "git init" in told.err


def test_without_git_that_is_said(yard: Yard) -> None:
    told = yard.kb(yard.clone(), "hooks", env={"PATH": str(yard.home)})
    assert told.status == 1
    assert "git is not installed" in told.err


def test_a_kb_that_a_hook_would_not_find_is_refused(yard: Yard) -> None:
    copied = yard.root / "copy"
    shutil.copytree(Path(__file__).parent.parent / "kb", copied / "kb")
    clerk = yard.clone()
    told = yard.kb(clerk, "hooks", env={"PYTHONPATH": str(copied)})
    assert told.status == 1
    assert "not installed" in told.err
    assert not (clerk / ".git/hooks/pre-commit").exists()


def test_remove_takes_no_other_option(yard: Yard) -> None:
    assert yard.kb(yard.clone(), "hooks", "--remove", "--out", "x").status == 2


@pytest.mark.parametrize("folder", ["www", "www/inside", ".", "next", "next/inside"])
def test_folders_in_which_sites_would_mix_are_refused(yard: Yard, folder: str) -> None:
    server = yard.root / "server.git"
    yard.did(yard.root, "init", "-q", "--bare", str(server))
    words = ("--out", str(yard.root / "www"), "--preview", "next", str(yard.root / "next"))
    told = yard.kb(server, "hooks", *words, "--preview", "draft/*", str(yard.root / folder))
    assert told.status == 1
    assert "would be mixed" in " ".join(told.err.split())
    assert yard.git(server, "config", "kb.out").status == 1


def test_previews_of_several_patterns_may_share_a_folder(yard: Yard) -> None:
    server = yard.root / "server.git"
    yard.did(yard.root, "init", "-q", "--bare", str(server))
    shared = str(yard.root / "previews")
    told = yard.hooks(server, "--preview", "draft/*", shared, "--preview", "trial/*", shared)
    assert told.out.count(shared) == 2


def test_a_folder_that_cannot_be_written_to_is_refused_at_once(yard: Yard) -> None:
    server, file = yard.root / "server.git", yard.root / "file"
    yard.did(yard.root, "init", "-q", "--bare", str(server))
    file.write_text("in the way\n", encoding="utf-8")
    told = yard.kb(server, "hooks", "--out", str(file / "www"))
    assert told.status == 1
    assert "cannot be written to" in " ".join(told.err.split())


def test_hooks_are_set_up_from_a_linked_work_tree_for_all_of_them(yard: Yard) -> None:
    clerk = yard.clone()
    yard.did(clerk, "worktree", "add", "-q", "../linked", "-b", "side")
    yard.hooks(yard.root / "linked")
    yard.put(clerk, {"2026/2026-014.md": BAD})
    assert BAD_LINE in yard.commit(clerk, "Bad").err


def test_hooks_are_set_up_from_a_folder_below_the_top(yard: Yard) -> None:
    clerk = yard.clone()
    yard.hooks(clerk / "bulletins/2026")
    assert not list((clerk / "bulletins").rglob("*hooks*"))
    yard.put(clerk, {"2026/2026-014.md": BAD})
    assert BAD_LINE in yard.commit(clerk, "Bad").err
    yard.hooks(clerk / "bulletins/2026", "--remove")
    assert yard.commit(clerk, "Bad").status == 0


def test_what_is_said_fits_what_is_set_up(yard: Yard) -> None:
    clerk, server = yard.clone(), yard.root / "server.git"
    yard.did(yard.root, "init", "-q", "--bare", str(server))
    assert yard.hooks(clerk).out.startswith("Commits made here are proofed")
    assert "Pushes" not in yard.hooks(clerk).out
    said = yard.hooks(server).out
    assert "Commits" not in said
    assert "Pushes to main are proofed" in said
    assert "kb hooks --out DIR" in said
    assert str(yard.root / "www") in yard.hooks(server, "--out", str(yard.root / "www")).out
    assert str(yard.root / "www") in yard.hooks(server).out  # what is not named stays


def test_what_is_installed_are_plain_shell_scripts_that_anyone_can_run(yard: Yard) -> None:
    clerk = yard.clone()
    yard.hooks(clerk)
    script = clerk / ".git/hooks/pre-commit"
    assert script.stat().st_mode & 0o777 == 0o755
    assert sys.executable in script.read_text(encoding="utf-8")
    assert yard.run(clerk, "sh", "-n", str(script)).status == 0
    assert os.access(script, os.X_OK)
