"""The same house on the same day gives the same site, whoever publishes it, where and how."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from collections.abc import Mapping
from pathlib import Path
from types import MappingProxyType

import pytest

from tests.deskhouse import HOUSE, TODAY, write_house

WAYS: Mapping[str, Mapping[str, str]] = {
    "another order of sets and dictionaries": {"PYTHONHASHSEED": "1"},
    "and one more": {"PYTHONHASHSEED": "4242"},
    "another time zone": {"TZ": "Pacific/Kiritimati"},
    "another language": {"LC_ALL": "C", "LANG": "tr_TR.UTF-8", "PYTHONUTF8": "0"},
    "one process": {"KB_PROCESSES": "1"},
    "four processes": {"KB_PROCESSES": "4"},
    "optimised byte code": {"PYTHONOPTIMIZE": "2"},
}


def files(folder: Path) -> dict[str, bytes]:
    return {str(p.relative_to(folder)): p.read_bytes() for p in folder.rglob("*") if p.is_file()}


def published(
    house: Path, out: Path, umask: int = 0o022, env: Mapping[str, str] = MappingProxyType({})
) -> dict[str, bytes]:
    subprocess.run(
        [sys.executable, "-m", "kb", "publish", "--compress", "--house", house, "--out", out],
        env={**os.environ, "PYTHONPATH": str(Path.cwd()), "KB_TODAY": TODAY, **env},
        umask=umask,
        check=True,
        capture_output=True,
    )
    return files(out)


@pytest.fixture(scope="module")
def house(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_house(tmp_path_factory.mktemp("same") / "bulletins")


@pytest.fixture(scope="module")
def usual(house: Path, tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    return published(house, tmp_path_factory.mktemp("usual") / "site")


@pytest.mark.parametrize("way", WAYS)
def test_the_site_is_the_same_in_every_surrounding(
    house: Path, usual: dict[str, bytes], tmp_path: Path, way: str
) -> None:
    assert published(house, tmp_path / "site", env=WAYS[way]) == usual


@pytest.mark.parametrize("umask", [0o077, 0o002, 0o027])
def test_the_site_is_the_same_whoever_may_read_it(
    house: Path, usual: dict[str, bytes], tmp_path: Path, umask: int
) -> None:
    assert published(house, tmp_path / "site", umask) == usual
    mode = (tmp_path / "site/bulletins/2024-007/index.html").stat().st_mode & 0o777
    assert mode == 0o666 & ~umask


def test_the_site_is_the_same_in_whatever_order_and_when_files_were_written(
    usual: dict[str, bytes], tmp_path: Path
) -> None:
    house = write_house(tmp_path / "elsewhere/bulletins", dict(reversed(list(HOUSE.items()))))
    for at, path in enumerate(sorted(house.rglob("*.md"))):
        os.utime(path, (at * 1000, at * 1000))
    assert published(house, tmp_path / "deep/er/site") == usual


def test_the_site_is_the_same_from_a_folder_that_is_a_link(
    house: Path, usual: dict[str, bytes], tmp_path: Path
) -> None:
    (tmp_path / "link").symlink_to(house, target_is_directory=True)
    assert published(tmp_path / "link", tmp_path / "site") == usual


def test_an_older_edition_published_again_is_as_it_was(
    house: Path, usual: dict[str, bytes], tmp_path: Path
) -> None:
    copy = Path(shutil.copytree(house, tmp_path / "bulletins"))
    (copy / "2024/2024-001.md").unlink()
    assert published(copy, tmp_path / "site") != usual
    shutil.copy(house / "2024/2024-001.md", copy / "2024/2024-001.md")
    assert published(copy, tmp_path / "site") == usual
