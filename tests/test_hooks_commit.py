"""Before a commit: real repositories, and git's own command line."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.conftest import SOUND_BULLETIN
from tests.gityard import BAD, BAD_LINE, HOUSE, Yard, other

OLD = "Stood there before, no reason to refuse: 1 error."
NAMED = other("2026-020", "related: [2026-014]")


@pytest.fixture
def yard(tmp_path: Path) -> Yard:
    return Yard(tmp_path)


@pytest.fixture(scope="module")
def pattern(tmp_path_factory: pytest.TempPathFactory) -> Yard:
    """A yard with one clone, which proofs its commits."""
    made = Yard(tmp_path_factory.mktemp("pattern"))
    made.hooks(made.clone())
    return made


@pytest.fixture
def clerk(pattern: Yard, tmp_path: Path) -> Path:
    return Yard.like(pattern, tmp_path).root / "clerk"


def test_an_error_refuses_the_commit_and_is_told_with_line_remedy_count_and_way_out(
    yard: Yard, clerk: Path
) -> None:
    before = yard.did(clerk, "rev-parse", "HEAD")
    yard.put(clerk, {"2026/2026-014.md": BAD})
    told = yard.commit(clerk, "Bad")
    assert told.status == 1
    lines = told.err.split("\n")
    assert lines[0].startswith(BAD_LINE)
    assert any(line.startswith("    ") and "2024-W52" in line for line in lines)
    assert "1 error in 1 file." in lines
    assert "git commit --no-verify" in told.err
    assert yard.did(clerk, "rev-parse", "HEAD") == before


def test_no_verify_commits_all_the_same(yard: Yard, clerk: Path) -> None:
    yard.put(clerk, {"2026/2026-014.md": BAD})
    assert yard.commit(clerk, "Bad", "--no-verify").status == 0


def test_a_sound_commit_goes_through_and_says_so(yard: Yard, clerk: Path) -> None:
    yard.put(clerk, {"2026/2026-021.md": other("2026-021")})
    told = yard.commit(clerk, "Sound")
    assert told.status == 0
    assert "nothing is wrong" in told.err


def test_what_is_staged_is_proofed_and_not_what_lies_in_the_work_tree(
    yard: Yard, clerk: Path
) -> None:
    yard.put(clerk, {"2026/2026-014.md": BAD})
    yard.did(clerk, "add", "-A")
    yard.put(clerk, {"2026/2026-014.md": SOUND_BULLETIN})
    assert BAD_LINE in yard.git(clerk, "commit", "-m", "Staged bad").err

    yard.put(clerk, {"2026/2026-014.md": SOUND_BULLETIN.replace("cold", "frosty")})
    yard.did(clerk, "add", "-A")
    yard.put(clerk, {"2026/2026-014.md": BAD, "2026/2026-099.md": "no bulletin at all"})
    told = yard.git(clerk, "commit", "-m", "Staged sound")
    assert told.status == 0, told.err
    assert "frosty" in yard.did(clerk, "show", "HEAD:bulletins/2026/2026-014.md")


def test_commit_all_is_proofed_on_the_index_that_git_makes_for_it(yard: Yard, clerk: Path) -> None:
    yard.put(clerk, {"2026/2026-014.md": BAD})
    told = yard.git(clerk, "commit", "-a", "-m", "All")
    assert told.status == 1
    assert BAD_LINE in told.err


def test_a_commit_of_named_paths_is_proofed_on_these_alone(yard: Yard, clerk: Path) -> None:
    yard.put(clerk, {"2026/2026-014.md": BAD, "2026/2026-021.md": other("2026-021")})
    yard.did(clerk, "add", "-A")
    assert yard.git(clerk, "commit", "-m", "One", "bulletins/2026/2026-021.md").status == 0
    told = yard.git(clerk, "commit", "-m", "Other", "bulletins/2026/2026-014.md")
    assert told.status == 1
    assert BAD_LINE in told.err


def test_a_file_that_is_only_meant_to_be_added_does_not_count(yard: Yard, clerk: Path) -> None:
    yard.put(clerk, {"2026/2026-099.md": "no bulletin", "2026/2026-021.md": other("2026-021")})
    yard.did(clerk, "add", "bulletins/2026/2026-021.md")
    yard.did(clerk, "add", "-N", "bulletins/2026/2026-099.md")
    assert yard.git(clerk, "commit", "-m", "Half").status == 0


def test_taking_away_what_others_refer_to_refuses_though_their_files_are_untouched(
    yard: Yard, clerk: Path
) -> None:
    yard.put(clerk, {"2026/2026-020.md": NAMED})
    assert yard.commit(clerk, "Refers").status == 0
    yard.did(clerk, "rm", "-q", "bulletins/2026/2026-014.md")
    told = yard.git(clerk, "commit", "-m", "Gone")
    assert told.status == 1
    assert "bulletins/2026/2026-020.md:" in told.err
    assert "2026-014" in told.err


def test_errors_that_stood_before_are_told_but_do_not_refuse(yard: Yard, clerk: Path) -> None:
    yard.put(clerk, {"2026/2026-014.md": BAD})
    yard.commit(clerk, "Bad", "--no-verify")
    yard.put(clerk, {"2026/2026-021.md": other("2026-021")})
    told = yard.commit(clerk, "Sound")
    assert told.status == 0
    assert OLD in told.err
    assert BAD_LINE in told.err


def test_beside_an_old_error_a_new_one_refuses(yard: Yard, clerk: Path) -> None:
    yard.put(clerk, {"2026/2026-014.md": BAD})
    yard.commit(clerk, "Bad", "--no-verify")
    yard.put(clerk, {"2026/2026-021.md": other("2026-021", "codes: [E99]")})
    told = yard.commit(clerk, "Worse")
    assert told.status == 1
    new, _, old = told.err.partition("1 error in 1 file.")
    assert "2026-021.md" in new
    assert "2026-014.md" not in new
    assert BAD_LINE in old


def test_an_old_error_that_moves_to_another_line_or_file_is_still_old(
    yard: Yard, clerk: Path
) -> None:
    yard.put(clerk, {"2026/2026-014.md": BAD})
    yard.commit(clerk, "Bad", "--no-verify")
    yard.put(clerk, {"2026/2026-014.md": BAD.replace("family:", "minutes: 5\nfamily:")})
    assert yard.commit(clerk, "Moved down").status == 0
    (clerk / "bulletins/old").mkdir()
    yard.did(clerk, "mv", "bulletins/2026/2026-014.md", "bulletins/old/drain.md")
    assert yard.git(clerk, "commit", "-m", "Renamed").status == 0


def test_warnings_never_refuse_and_old_ones_are_only_counted(yard: Yard, clerk: Path) -> None:
    plain = other("2026-030", "symptoms: [hums but does not drain]", "Same title")
    twin = other("2026-031", "symptoms: [hums but does not drain]", "Same title")
    yard.put(clerk, {"2026/2026-030.md": plain, "2026/2026-031.md": twin})
    warned = yard.commit(clerk, "Twins")
    assert warned.status == 0
    assert "warning:" in warned.err
    yard.put(clerk, {"2026/2026-021.md": other("2026-021")})
    later = yard.commit(clerk, "Another")
    assert later.status == 0
    assert "of before" in later.err
    assert "warning:" not in later.err


def test_a_merge_without_conflict_is_proofed_too(yard: Yard, clerk: Path) -> None:
    yard.did(clerk, "switch", "-q", "-c", "side")
    yard.put(clerk, {"2026/a.md": other("2026-021")})
    yard.commit(clerk, "One of them")
    yard.did(clerk, "switch", "-q", "main")
    yard.put(clerk, {"2026/b.md": other("2026-021")})
    yard.commit(clerk, "The other")
    told = yard.git(clerk, "merge", "--no-edit", "side")
    assert told.status != 0
    assert "the number 2026-021 is taken" in " ".join(told.err.split())


@pytest.mark.parametrize("conflict", [False, True])
def test_a_merge_does_not_answer_for_what_its_parents_hold(
    yard: Yard, clerk: Path, conflict: bool
) -> None:
    yard.did(clerk, "switch", "-q", "-c", "side")
    yard.put(clerk, {"2026/2026-014.md": BAD, "2026/2026-021.md": other("2026-021")})
    yard.commit(clerk, "Bad", "--no-verify")
    yard.did(clerk, "switch", "-q", "main")
    again = other("2026-021", title="Said otherwise") if conflict else other("2026-022")
    yard.put(clerk, {f"2026/2026-02{1 if conflict else 2}.md": again})
    yard.commit(clerk, "Sound")
    merged = yard.git(clerk, "merge", "--no-edit", "side")
    assert (merged.status != 0) is conflict
    if conflict:
        yard.put(clerk, {"2026/2026-021.md": again})
        merged = yard.commit(clerk, "Merged")
    assert merged.status == 0, merged.said
    assert OLD in merged.said


def test_paths_are_told_as_people_write_them(yard: Yard, clerk: Path) -> None:
    names = [
        "2026/Tür klemmt.md",
        "2026/a name that is longer than a line of a terminal/so it goes.md",
        'it\'s "so".md',
        "$(touch x);.md",
    ]
    for at, name in enumerate(names):
        yard.put(clerk, {name: BAD.replace("2026-014", f"2026-04{at}")})
    told = yard.commit(clerk, "Odd names")
    assert told.status == 1
    for name in names:
        assert f"\nbulletins/{name}:7:" in f"\n{told.err}"
    assert not (clerk / "x").exists()


@pytest.mark.parametrize("house", ["docs/bulletins", "Bücher und Blätter/rundbriefe"])
def test_the_house_is_found_wherever_it_lies_in_the_tree(yard: Yard, house: str) -> None:
    where = yard.clone("nested", house)
    yard.hooks(where)
    yard.put(where, {"2026/2026-014.md": BAD}, house)
    told = yard.commit(where, "Bad")
    assert told.status == 1
    assert f"{house}/2026/2026-014.md:7:" in told.err


def test_of_several_houses_git_config_names_the_one_that_counts(yard: Yard) -> None:
    where = yard.clone("two")
    yard.put(where, HOUSE, "training/bulletins")
    yard.commit(where, "A second house")
    yard.hooks(where)
    yard.put(where, {"2026/2026-014.md": BAD}, "training/bulletins")
    assert yard.commit(where, "Bad in the second").status == 0
    yard.did(where, "config", "kb.house", "training/bulletins")
    yard.put(where, {"2026/2026-021.md": other("2026-021", "codes: [E99]")}, "training/bulletins")
    told = yard.commit(where, "Worse in the second")
    assert told.status == 1
    assert "training/bulletins/2026/2026-021.md:" in told.err


def test_where_there_is_no_house_the_commit_goes_through_and_that_is_said(yard: Yard) -> None:
    where = yard.root / "plain"
    yard.did(yard.root, "init", "-q", str(where))
    yard.hooks(where)
    (where / "notes.txt").write_text("nothing to proof\n", encoding="utf-8")
    told = yard.commit(where, "Notes")
    assert told.status == 0
    assert "No bulletins here" in told.err


def test_the_first_commit_answers_for_everything(yard: Yard) -> None:
    where = yard.root / "fresh"
    yard.did(yard.root, "init", "-q", str(where))
    yard.hooks(where)
    yard.put(where, {**HOUSE, "2026/2026-014.md": BAD})
    assert BAD_LINE in yard.commit(where, "First").err
    yard.put(where, HOUSE)
    assert yard.commit(where, "First").status == 0


def test_taking_away_the_tables_refuses(yard: Yard, clerk: Path) -> None:
    yard.did(clerk, "rm", "-rq", "bulletins/reference")
    told = yard.git(clerk, "commit", "-m", "No tables")
    assert told.status == 1
    assert "bulletins/reference:1: the reference tables are taken away" in told.err


def test_a_house_that_moves_as_a_whole_goes_through(yard: Yard, clerk: Path) -> None:
    (clerk / "docs").mkdir()
    yard.did(clerk, "mv", "bulletins", "docs/bulletins")
    assert yard.git(clerk, "commit", "-m", "Moved").status == 0


def test_a_commit_beside_the_house_says_nothing_and_proofs_nothing(yard: Yard, clerk: Path) -> None:
    (clerk / "notes.txt").write_text("beside\n", encoding="utf-8")
    told = yard.commit(clerk, "Beside")
    assert (told.status, told.said) == (0, "")
    assert not (clerk / ".git/kb/proofs").exists()


def test_attributes_hide_nothing_from_the_proof(yard: Yard, clerk: Path) -> None:
    (clerk / ".gitattributes").write_text("*.md export-ignore eol=crlf\n", encoding="utf-8")
    yard.put(clerk, {"2026/2026-014.md": BAD})
    assert BAD_LINE in yard.commit(clerk, "Hidden").err


def test_a_linked_work_tree_is_proofed_on_its_own_index(yard: Yard, clerk: Path) -> None:
    yard.did(clerk, "worktree", "add", "-q", "../linked", "-b", "side")
    linked = yard.root / "linked"
    yard.put(clerk, {"2026/2026-014.md": BAD})
    yard.did(clerk, "add", "-A")
    yard.put(linked, {"2026/2026-021.md": other("2026-021")})
    assert yard.commit(linked, "Sound").status == 0
    yard.put(linked, {"2026/2026-014.md": BAD})
    assert BAD_LINE in yard.commit(linked, "Bad").err


def test_repositories_with_long_object_names_are_served_alike(yard: Yard) -> None:
    where = yard.clone("sha256", "bulletins", "--object-format=sha256")
    yard.hooks(where)
    yard.put(where, {"2026/2026-014.md": BAD})
    assert BAD_LINE in yard.commit(where, "Bad").err


def test_a_sparse_work_tree_is_proofed_whole(yard: Yard, clerk: Path) -> None:
    yard.put(clerk, {"2025/2025-020.md": NAMED.replace("2026-020", "2025-020")})
    assert yard.commit(clerk, "Refers").status == 0
    yard.did(clerk, "sparse-checkout", "set", "bulletins/2026")
    assert not (clerk / "bulletins/reference").exists()
    yard.did(clerk, "rm", "-q", "bulletins/2026/2026-014.md")
    told = yard.git(clerk, "commit", "-m", "Gone")
    assert told.status == 1
    assert "bulletins/2025/2025-020.md:" in told.err


def test_a_commit_from_a_folder_below_is_proofed_alike(yard: Yard, clerk: Path) -> None:
    yard.put(clerk, {"2026/2026-014.md": BAD})
    told = yard.git(clerk / "bulletins/2026", "commit", "-a", "-m", "From below")
    assert BAD_LINE in told.err


def test_the_index_and_the_work_tree_stay_as_they_are(yard: Yard, clerk: Path) -> None:
    yard.put(clerk, {"2026/2026-014.md": BAD, "2026/loose.md": "loose"})
    yard.did(clerk, "add", "bulletins/2026/2026-014.md")
    before = yard.did(clerk, "status", "--porcelain"), yard.did(clerk, "diff", "--cached")
    assert yard.git(clerk, "commit", "-m", "Bad").status == 1
    assert before == (yard.did(clerk, "status", "--porcelain"), yard.did(clerk, "diff", "--cached"))
