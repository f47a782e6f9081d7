"""What must outlive a loss of power: every file and folder is brought to the disk, once."""

from __future__ import annotations

from pathlib import Path

import pytest

from kb.durable import exchange, settle_all


def test_files_are_settled_before_the_folder_that_names_them(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for name in ("a", "inner/b", "inner/deep/c"):
        (tmp_path / name).parent.mkdir(exist_ok=True, parents=True)
        (tmp_path / name).write_text(name, encoding="utf-8")
    settled: list[Path] = []
    monkeypatch.setattr(
        "kb.durable.os.fsync",
        lambda handle: settled.append(Path(f"/proc/self/fd/{handle}").readlink()),
    )
    settle_all(tmp_path)
    everything = {tmp_path, *tmp_path.rglob("*")}
    assert set(settled) == everything
    assert len(settled) == len(everything)
    for path in everything - {tmp_path}:
        assert settled.index(path) < settled.index(path.parent)


def test_a_text_is_exchanged_whole_and_nothing_is_left_aside(tmp_path: Path) -> None:
    path, aside = tmp_path / "current", tmp_path / "aside"
    for text in ("one", "two, longer", "three"):
        exchange(path, text, aside)
        assert path.read_text(encoding="utf-8") == text
        assert [each.name for each in tmp_path.iterdir()] == ["current"]
