"""What a repository is set up to do, as it stands in git's configuration under ``kb``.

``kb.out`` is the folder of the published site, ``kb.branch`` the published branch where it is not
HEAD's, ``kb.house`` the path of the house where it cannot be told, and ``kb.PATTERN.preview`` the
folder for previews of the branches that fit a pattern.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fnmatch import fnmatchcase
from pathlib import Path

from kb.hooks.repository import HEADS, Repository

_PREVIEW = ".preview"
RECORD = (
    "served.json"  # what has been published from here, in the folder we keep (kb.hooks.targets)
)


@dataclass(frozen=True, slots=True)
class Settings:
    """Where what is published; *previews* are pairs of a pattern for branches and a folder."""

    out: Path | None = None
    branch: str = ""
    house: str = ""
    previews: tuple[tuple[str, Path], ...] = ()

    @property
    def serves(self) -> bool:
        """Tell whether anything is published from this repository."""
        return bool(self.out or self.previews)

    def preview_of(self, branch: str) -> Path | None:
        """Return the folder for the preview of *branch* (its full name), or None."""
        name = branch.removeprefix(HEADS)
        for pattern, folder in self.previews:
            if fnmatchcase(name, pattern):
                return folder / name if is_pattern(pattern) else folder
        return None


def is_pattern(text: str) -> bool:
    """Tell whether *text* can fit several branches."""
    return any(sign in text for sign in "*?[")


def settings_of(repository: Repository) -> Settings:
    """Return what *repository* is set up to do."""
    words = repository.house_words()
    out = words.get("kb.out", "")
    return Settings(
        out=Path(out) if out else None,
        branch=words.get("kb.branch", ""),
        house=words.get("kb.house", "").strip("/"),
        previews=tuple(_previews(words)),
    )


def preview_key(pattern: str) -> str:
    """Return the key of git's configuration that names the folder for *pattern*."""
    return f"kb.{pattern}{_PREVIEW}"


def _previews(words: Mapping[str, str]) -> Iterable[tuple[str, Path]]:
    for key, value in words.items():
        if key.endswith(_PREVIEW) and len(key) > len(preview_key("")) and value:
            yield key.removeprefix("kb.").removesuffix(_PREVIEW), Path(value)


def published_branch(repository: Repository, settings: Settings, pushed: Iterable[str] = ()) -> str:
    """Return the full name of the published branch, or nothing where none can be meant.

    That is the branch HEAD points to unless the settings name another. Where that one does not
    exist, nothing was published yet, and there is (with those *pushed*) one branch only that is not
    for a preview, it is that one: a server begun with another first branch than its clerks use
    publishes all the same.
    """
    if settings.branch:
        return HEADS + settings.branch.removeprefix(HEADS)
    head = repository.head_branch()
    every = {*repository.branches(), *pushed}
    if head not in every and not (repository.home / RECORD).exists():
        likely = [branch for branch in every if not settings.preview_of(branch)]
        return likely[0] if len(likely) == 1 else head
    return head
