"""What a change brings, and how exports follow commits, held against slow, obvious answers."""

from __future__ import annotations

import shutil
from collections.abc import Mapping
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from kb.errors import Problem
from kb.hooks.exports import export, house_in
from kb.hooks.proofs import Noted, brought
from kb.hooks.pushes import read_updates
from kb.hooks.settings import Settings
from tests.gityard import HOUSE, Yard, standing_in


def noted(file: str, line: int, message: str, text: str = "") -> Noted:
    problem = Problem(
        file=file, line=line, level="error", rule="rule", message=message, remedy="mend it"
    )
    return Noted(problem, text or message)


problems = st.lists(
    st.builds(
        noted,
        st.sampled_from(["a.md", "b.md"]),
        st.integers(1, 30),
        st.sampled_from(["one", "two", "three"]),
        st.sampled_from(["", "the same line"]),
    ),
    max_size=8,
)


@given(problems)
def test_what_stands_there_already_is_not_brought(every: list[Noted]) -> None:
    moved = [
        noted(each.problem.file, each.problem.line + 3, each.problem.message, each.text)
        for each in reversed(every)
    ]
    assert brought(every, moved, {}) == []
    assert brought([], every, {}) == every


@given(problems, problems)
def test_no_more_is_brought_than_there_is_and_no_less_than_there_is_more(
    before: list[Noted], after: list[Noted]
) -> None:
    new = brought(before, after, {})
    assert all(each in after for each in new)
    for file in ("a.md", "b.md"):
        were, are, fresh = (
            sum(each.problem.file == file for each in some) for some in (before, after, new)
        )
        assert max(0, are - were) <= fresh <= are


@given(problems, st.sampled_from(["a.md", "b.md"]))
def test_a_problem_whose_words_and_line_are_both_unheard_of_is_always_brought(
    before: list[Noted], file: str
) -> None:
    fresh = noted(file, 1, "unheard of", "a new line")
    assert brought(before, [*before, fresh], {}) == [fresh]


@given(problems)
def test_a_renamed_file_takes_its_problems_along(before: list[Noted]) -> None:
    after = [
        noted(f"new/{each.problem.file}", each.problem.line, each.problem.message, each.text)
        for each in before
    ]
    assert brought(before, after, {"new/a.md": "a.md", "new/b.md": "b.md"}) == []


def everything(folder: Path) -> dict[str, str]:
    """Return every file and link below *folder* with what it holds, git's own left out."""
    found: dict[str, str] = {}
    for path in sorted(folder.rglob("*")):
        name = path.relative_to(folder).as_posix()
        if path.is_symlink():
            found[name] = f"-> {path.readlink()}"
        elif path.is_file() and not name.startswith(".git/"):
            found[name] = path.read_text(encoding="utf-8")
    return found


# A name may be a file in one state and a folder in the next.
NAMES = ["a", "a/b", "a/b/c", "ä ö/ü.md", "d e", "reference/families.yaml", "-x", "*"]
states = st.dictionaries(st.sampled_from(NAMES), st.sampled_from(["one", "two", "->"]), min_size=1)


def put(folder: Path, state: Mapping[str, str]) -> None:
    for name, text in sorted(state.items()):
        path = folder / name
        if any(parent.is_file() or parent.is_symlink() for parent in path.parents):
            continue  # one above it is a file already
        path.parent.mkdir(parents=True, exist_ok=True)
        if text == "->":
            path.symlink_to("elsewhere")
        else:
            path.write_text(text, encoding="utf-8")


@settings(
    max_examples=12, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(st.lists(states, min_size=2, max_size=4))
def test_an_export_that_follows_commit_by_commit_is_the_tree_of_the_last(
    tmp_path_factory: pytest.TempPathFactory, history: list[dict[str, str]]
) -> None:
    """The reference is git's own clone of the same commit."""
    yard = Yard(tmp_path_factory.mktemp("yard"))
    where = yard.root / "work"
    yard.did(yard.root, "init", "-q", str(where))
    with standing_in(yard, where) as repository:
        since = ""
        for state in history:
            shutil.rmtree(where / "house", ignore_errors=True)
            put(where / "house", state)
            yard.did(where, "add", "-A")
            yard.did(where, "commit", "-q", "--allow-empty", "-m", "State")
            commit = yard.did(where, "rev-parse", "HEAD")
            export(repository, commit, "house", yard.root / "kept", since)
            since = commit
    yard.did(yard.root, "clone", "-q", str(where), str(yard.root / "clone"))
    assert everything(yard.root / "kept") == everything(yard.root / "clone")


def test_only_the_house_is_written_out(tmp_path: Path) -> None:
    yard = Yard(tmp_path)
    where = yard.clone("work", "docs/bulletins")
    (where / "other.txt").write_text("beside\n", encoding="utf-8")
    yard.commit(where, "Beside")
    with standing_in(yard, where) as repository:
        inside = export(repository, "HEAD", "docs/bulletins", tmp_path / "out")
    assert sorted(everything(inside)) == sorted(HOUSE)
    assert {path.name for path in (tmp_path / "out").iterdir()} == {"docs"}


@pytest.mark.parametrize(
    ("houses", "found"),
    [
        (["docs/bulletins"], "docs/bulletins"),
        (["bulletins", "a"], "bulletins"),
        (["a/bulletins", "a/other"], "a/bulletins"),
        (["deep/down/bulletins", "flat/house"], "flat/house"),
        (["."], ""),
    ],
)
def test_the_likeliest_house_is_found(tmp_path: Path, houses: list[str], found: str) -> None:
    yard = Yard(tmp_path)
    where = yard.root / "work"
    yard.did(yard.root, "init", "-q", str(where))
    for house in houses:
        yard.put(where, HOUSE, house)
    yard.commit(where, "Houses")
    with standing_in(yard, where) as repository:
        assert house_in(repository, "HEAD") == found
        assert house_in(repository, "HEAD", "not/here") is None


def test_lines_of_a_push_are_read_with_names_of_any_kind() -> None:
    zero, one = "0" * 40, "1" * 40
    lines = [f"{zero} {one} refs/heads/märz ausgabe", f"{one} {zero} refs/tags/x", "", "odd"]
    created, deleted = read_updates(lines)
    assert (created.name, created.creates, created.deletes) == (
        "refs/heads/märz ausgabe", True, False,
    )  # fmt: skip
    assert (deleted.name, deleted.creates, deleted.deletes) == ("refs/tags/x", False, True)


def test_a_pattern_gives_each_branch_its_own_folder_and_the_first_that_fits_wins() -> None:
    folder = Path("/srv/previews")
    found = Settings(previews=(("next", Path("/srv/next")), ("*", folder)))
    assert found.preview_of("refs/heads/next") == Path("/srv/next")
    assert found.preview_of("refs/heads/draft/a") == folder / "draft/a"
    assert Settings(previews=(("draft/*", folder),)).preview_of("refs/heads/next") is None
