"""The scripts of the files for hosted git, run: clones of real repositories, pages without links.

How a host runs a script (bash -e; in GitLab with pipefail too), and that hosted pages refuse
symbolic and hard links in what is uploaded, is from memory of their documentation.
"""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from pathlib import Path
from tempfile import mkdtemp

import pytest

from kb.hosted import write
from tests.conftest import SMALL_HOUSE, SOUND_BULLETIN
from tests.deskhouse import TODAY, write_house
from tests.githost import TOKEN, serving
from tests.hostedrun import BROKEN, ROOT, Runner, commit_all, git, read
from tests.search_house import demo_copy

BIN = Path(sys.executable).parent
PLACES = (".", "docs/it's für den Kundendienst")
ON_MAIN = {"github.ref_name": "main", "github.event.repository.default_branch": "main"}
ON_REQUEST = {**ON_MAIN, "github.ref_name": "7/merge"}


def repository(folder: Path, below: str = "bulletins", broken: bool = False) -> Path:
    """Make a committed repository with a small house in it, and return the house."""
    text = SOUND_BULLETIN.replace(*BROKEN) if broken else SOUND_BULLETIN
    house = write_house(folder / below, {**SMALL_HOUSE, "2026/2026-014.md": text})
    commit_all(folder)
    return house


def is_plain_site(folder: Path) -> bool:
    """Tell whether *folder* is a site that hosted pages take: no links, nothing hidden."""
    assert (folder / "index.html").is_file()
    assert (folder / "bulletins" / "2026-014" / "index.html").is_file()
    found = [Path(base) / name for base, dirs, names in os.walk(folder) for name in dirs + names]
    links = [path for path in found if path.is_symlink()]
    links += [path for path in found if path.is_file() and path.stat().st_nlink > 1]
    hidden = [path for path in found if path.name.startswith(".") and ".git" not in path.parts]
    return not links and not hidden


# GitHub


def github(house: Path, own: Path, facts: dict[str, str]) -> tuple[Runner, bool, str]:
    """Run the first job of the workflow; return what there is and the run's page."""
    runner = Runner(house.parent, own, facts)
    workflow = read("github", house)
    page = own / "page.md"
    own.mkdir(parents=True)
    workflow["env"] |= {"RUNNER_TEMP": str(own / "temp"), "GITHUB_STEP_SUMMARY": str(page)}
    (own / "temp").mkdir()
    well = runner.job(workflow, "proof")
    return runner, well, page.read_text(encoding="utf-8") if page.exists() else ""


def test_github_publishes_the_demo_house_from_its_main_branch(tmp_path: Path) -> None:
    demo_copy(tmp_path / "origin" / "bulletins")
    commit_all(tmp_path / "origin")
    git("clone", "--quiet", tmp_path / "origin", tmp_path / "clone", cwd=tmp_path)
    runner, well, page = github(tmp_path / "clone" / "bulletins", tmp_path / "own", ON_MAIN)
    assert well, runner.log
    assert page == ""
    assert runner.installed == [f"install {read('github', runner.checkout)['env']['FETTLEBOOK']}"]
    assert "Nothing is wrong." in runner.log
    assert is_plain_site(tmp_path / "own" / "temp" / "site")


def test_a_request_on_github_is_proofed_and_publishes_nothing(tmp_path: Path) -> None:
    runner, well, _ = github(repository(tmp_path / "repo"), tmp_path / "own", ON_REQUEST)
    assert well, runner.log
    assert list((tmp_path / "own" / "temp").iterdir()) == []


@pytest.mark.parametrize("facts", [ON_REQUEST, ON_MAIN])
def test_what_is_wrong_is_annotated_on_github_and_told_on_the_runs_page(
    tmp_path: Path, facts: dict[str, str]
) -> None:
    house = repository(tmp_path / "repo", broken=True)
    runner, well, page = github(house, tmp_path / "own", facts)
    assert not well
    assert "::error file=bulletins/2026/2026-014.md,line=6,title=family-unknown::" in runner.log
    assert page.startswith("~~~~~~\n2026/2026-014.md:6: ")
    assert page.endswith("1 error in 1 file.\n~~~~~~\n")
    assert list((tmp_path / "own" / "temp").iterdir()) == []


# GitLab


def gitlab(house: Path, top: Path, own: Path, name: str) -> tuple[Runner, bool]:
    """Run a job of GitLab's file: its lines in one shell."""
    job, kb = read("gitlab", house)[name], read("gitlab", house)[".kb"]
    assert job["extends"] == ".kb"
    runner = Runner(top, own)
    script = "\n".join([*kb["before_script"], *job["script"]])
    env = {**kb["variables"], "CI_PROJECT_DIR": str(top)}
    return runner, runner.run(script, env, "-eo", "pipefail")


@pytest.mark.parametrize("below", PLACES)
def test_gitlab_publishes_from_its_main_branch(tmp_path: Path, below: str) -> None:
    house = repository(tmp_path / "repo", below)
    for name in ("proof", "pages"):
        runner, well = gitlab(house, tmp_path / "repo", tmp_path / name, name)
        assert well, runner.log
    assert json.loads((tmp_path / "repo" / "codequality.json").read_text()) == []
    assert is_plain_site(tmp_path / "repo" / "public")
    runner, well = gitlab(house, tmp_path / "repo", tmp_path / "again", "pages")
    assert well, runner.log  # a runner that keeps its folder has the last site in it


def test_what_is_wrong_is_reported_to_gitlab_and_in_the_log(tmp_path: Path) -> None:
    house = repository(tmp_path / "repo", "docs/bulletins", broken=True)
    runner, well = gitlab(house, tmp_path / "repo", tmp_path / "own", "proof")
    assert not well
    (entry,) = json.loads((tmp_path / "repo" / "codequality.json").read_text())
    assert entry["location"]["path"] == "docs/bulletins/2026/2026-014.md"
    assert "2026/2026-014.md:6: " in runner.log


# Forgejo and Gitea


def forgejo(
    tmp_path: Path, kind: str, house: Path, ref: str, token: str = TOKEN
) -> tuple[Runner, bool, list[str]]:
    """Run the workflow in an empty folder, against a host that lets in whoever has the token.

    The host has the house's repository; what is committed there since is pushed to it first.
    """
    top = next(path for path in house.parents if (path / ".git").exists())
    bare = tmp_path / "srv" / "desk" / "bulletins"
    if not bare.exists():
        git("clone", "--quiet", "--bare", top, bare, cwd=tmp_path)
    git("push", "--quiet", bare, "HEAD:main", "HEAD:refs/pull/7/head", cwd=top)
    runner = Runner(Path(mkdtemp(dir=tmp_path)), Path(mkdtemp(dir=tmp_path)))
    with serving(tmp_path / "srv") as (address, refused):
        runner.facts = {
            "github.server_url": address,
            "github.repository": "desk/bulletins",
            "github.ref": ref,
            "github.ref_name": ref.removeprefix("refs/heads/").removeprefix("refs/pull/"),
            "github.token": token,
            "github.event.repository.default_branch": "main",
        }
        return runner, runner.job(read(kind, house), "bulletins"), refused


@pytest.mark.parametrize("kind", ["forgejo", "gitea"])
def test_forgejo_publishes_to_the_branch_that_pages_are_served_from(
    tmp_path: Path, kind: str
) -> None:
    house = repository(tmp_path / "repo", "docs/our bulletins")
    runner, well, refused = forgejo(tmp_path, kind, house, "refs/heads/main")
    assert well, runner.log
    assert refused == []
    bare = tmp_path / "srv" / "desk" / "bulletins"
    git("clone", "--quiet", "--branch", "pages", bare, tmp_path / "pages", cwd=tmp_path)
    shutil.rmtree(tmp_path / "pages" / ".git")
    assert is_plain_site(tmp_path / "pages")
    assert TOKEN not in runner.log


def test_each_publish_takes_the_place_of_the_last_one(tmp_path: Path) -> None:
    house = repository(tmp_path / "repo")
    bare = tmp_path / "srv" / "desk" / "bulletins"
    for word in ("Frost in", "Snow in"):
        bulletin = house / "2026" / "2026-014.md"
        bulletin.write_text(SOUND_BULLETIN.replace("Ice in", word))
        commit_all(tmp_path / "repo")
        runner, well, _ = forgejo(tmp_path, "forgejo", house, "refs/heads/main")
        assert well, runner.log
        page = git("show", "pages:bulletins/2026-014/index.html", cwd=bare)
        assert f"{word} the hose" in page
        assert git("rev-list", "--count", "pages", cwd=bare).strip() == "1"


def test_a_request_on_forgejo_is_proofed_and_publishes_nothing(tmp_path: Path) -> None:
    house = repository(tmp_path / "repo", broken=True)
    runner, well, _ = forgejo(tmp_path, "forgejo", house, "refs/pull/7/head")
    assert not well
    assert "2026/2026-014.md:6: there is no family 'Tran'" in runner.log
    bare = tmp_path / "srv" / "desk" / "bulletins"
    assert "pages" not in git("branch", "--list", cwd=bare)


def test_with_another_token_nothing_is_fetched(tmp_path: Path) -> None:
    house = repository(tmp_path / "repo")
    runner, well, refused = forgejo(tmp_path, "forgejo", house, "refs/heads/main", "of another")
    assert not well and refused
    assert not (runner.checkout / "bulletins").exists()


# Bitbucket


@pytest.mark.parametrize("below", PLACES)
def test_bitbucket_proofs_and_keeps_the_site(tmp_path: Path, below: str) -> None:
    house = repository(tmp_path / "repo", below)
    for each in read("bitbucket", house)["definitions"]["steps"]:
        runner = Runner(tmp_path / "repo", tmp_path / each["step"]["name"])
        assert runner.run("\n".join(each["step"]["script"]), {}), runner.log
    assert is_plain_site(tmp_path / "repo" / "site")


# pre-commit


def system_hook(house: Path) -> None:
    """Write the file for pre-commit, with the `kb` at hand in place of an installed one."""
    (path,) = write("pre-commit", house)
    text = path.read_text(encoding="utf-8").replace("language: python", "language: system")
    lines = [line for line in text.splitlines() if "additional_dependencies" not in line]
    path.write_text("\n".join(lines), encoding="utf-8")


@pytest.mark.parametrize("below", PLACES)
def test_pre_commit_proofs_what_is_staged_when_the_house_is_touched(
    tmp_path: Path, below: str
) -> None:
    house = repository(tmp_path / "repo", below)
    system_hook(house)
    (tmp_path / "repo" / "notes.txt").write_text("not of the house\n")
    commit_all(tmp_path / "repo")
    runner = Runner(tmp_path / "repo", tmp_path / "own")
    env = {"PRE_COMMIT_HOME": str(tmp_path / "cache")}
    assert runner.run(f'"{BIN}/pre-commit" install', env), runner.log
    bulletin = house / "2026" / "2026-014.md"
    bulletin.write_text(SOUND_BULLETIN.replace(*BROKEN))
    commit = "git add --all && git -c user.name=a -c user.email=a@b.example commit --message x"
    assert not runner.run(commit, env)
    assert "2026/2026-014.md:6: there is no family 'Tran'" in runner.log
    bulletin.write_text(SOUND_BULLETIN.replace("Ice in", "Frost in"))
    assert runner.run(commit, env), runner.log


def test_pre_commit_installs_the_hook_of_this_repository_and_runs_it(tmp_path: Path) -> None:
    pip = [sys.executable, "-m", "pip", "download", "--quiet", "--no-deps", "hatchling"]
    if subprocess.run([*pip, "--dest", tmp_path / "x"], capture_output=True).returncode:
        pytest.skip("no package index within reach to install the hook from")
    product = tmp_path / "product"
    for name in ("kb", "templates", "site"):
        skipped = shutil.ignore_patterns("__pycache__", "public", "looks")
        shutil.copytree(ROOT / name, product / name, ignore=skipped)
    for name in ("pyproject.toml", "README.md", "LICENSE", ".pre-commit-hooks.yaml"):
        shutil.copy(ROOT / name, product / name)
    commit_all(product)
    repository(tmp_path / "repo", broken=True)
    kept = {key: value for key, value in os.environ.items() if not key.startswith("GIT_")}
    done = subprocess.run(
        [BIN / "pre-commit", "try-repo", product, "kb-proof", "--all-files"],
        cwd=tmp_path / "repo",
        env={**kept, "PRE_COMMIT_HOME": str(tmp_path / "cache"), "KB_TODAY": TODAY},
        capture_output=True,
        text=True,
    )
    assert done.returncode == 1, done.stdout + done.stderr
    assert "2026/2026-014.md:6: there is no family 'Tran'" in done.stdout
    assert "1 error in 1 file." in done.stdout
