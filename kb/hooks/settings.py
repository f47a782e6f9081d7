"""What a repository is set up to do, as it stands in git's configuration under ``kb``.

``kb.out`` is the folder of the published site, ``kb.branch`` the published branch where it is not
HEAD's, ``kb.house`` the path of the house where it cannot be told, ``kb.PATTERN.preview`` the
folder for previews of the branches that fit a pattern. ``kb.keep`` and ``kb.compress`` are said to
each publish.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fnmatch import fnmatchcase
from pathlib import Path

from kb.hooks.repository import HEADS, Repository

_PREVIEW = ".preview"
_ON = ("true", "yes", "on", "1")  # as git reads them
KEPT, MOST_KEPT = 1, 1_000  # older editions, where nothing is said and at most
RECORD = (
    "served.json"  # what has been published from here, in the folder we keep (kb.hooks.targets)
)


@dataclass(frozen=True, slots=True)
class Settings:
    """Where what is published, and how; *previews* pair a pattern for branches with a folder."""

    out: Path | None = None
    branch: str = ""
    house: str = ""
    previews: tuple[tuple[str, Path], ...] = ()
    keep: int = KEPT
    compress: bool = False

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
        keep=_editions(words.get("kb.keep", "")),
        compress=words.get("kb.compress", "").lower() in _ON,
    )


def _editions(text: str) -> int:
    """Return how many older editions are kept; what nobody can read counts as not set."""
    return min(int(text), MOST_KEPT) if text.isdecimal() else KEPT


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
    if was_published(repository):
        return head
    every = {*repository.branches(), *pushed}
    if head not in every:
        likely = [branch for branch in every if not settings.preview_of(branch)]
        return likely[0] if len(likely) == 1 else head
    return head


def was_published(repository: Repository) -> bool:
    """Tell whether anything was published from *repository* yet."""
    return (repository.home / RECORD).exists()
