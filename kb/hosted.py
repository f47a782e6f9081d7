"""Files that let hosted git proof and publish a house: workflows, a hook, an image for runners."""

from __future__ import annotations

import json
import re
import shlex
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

from kb import __version__
from kb.errors import KbError
from kb.folding import nearest
from kb.housefolder import top_of
from kb.resources import folder

# What a shell, YAML or a host's own expressions would read as more than a name.
_ODD = re.compile(r"[$`\"\\{}@\x00-\x1f\x7f]")


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of hosting: what its file does, where it lies, and the template it is made from."""

    help: str
    path: str
    template: str
    says: Mapping[str, str] = field(default_factory=dict)


KINDS: Mapping[str, Kind] = {
    "github": Kind(
        "GitHub Actions: pull requests with what is wrong on its line, GitHub Pages",
        ".github/workflows/bulletins.yml",
        "github.yml",
    ),
    "gitlab": Kind(
        "GitLab CI: merge requests with what is wrong on its line, GitLab Pages",
        ".gitlab-ci.yml",
        "gitlab.yml",
    ),
    "forgejo": Kind(
        "Forgejo Actions: pull requests, and the site on the branch pages",
        ".forgejo/workflows/bulletins.yml",
        "forgejo.yml",
        {"RUNNER": "docker"},
    ),
    "gitea": Kind(
        "Gitea Actions: the same",
        ".gitea/workflows/bulletins.yml",
        "forgejo.yml",
        {"RUNNER": "ubuntu-latest"},
    ),
    "bitbucket": Kind(
        "Bitbucket Pipelines: pull requests, and the site as an artifact",
        "bitbucket-pipelines.yml",
        "bitbucket.yml",
    ),
    "pre-commit": Kind(
        "pre-commit: a proof before every commit that touches the house",
        ".pre-commit-config.yaml",
        "pre-commit.yaml",
    ),
    "container": Kind(
        "an image with kb and git alone, for runners of one's own",
        "Containerfile",
        "Containerfile",
    ),
}


def write(kind: str, house: Path, top: Path | None = None) -> list[Path]:
    """Write the files of *kind* for *house* at the repository's top and return those written.

    A file that is there with the same content is left alone. KbError for a file with another
    content: nothing is overwritten. *top* is another folder to write to.
    """
    target = (top or top_of(house)) / _known(kind).path
    content = text(kind, house).encode()
    if target.is_file() and target.read_bytes() == content:
        return []
    target.parent.mkdir(parents=True, exist_ok=True)
    try:
        with open(target, "xb") as file:
            file.write(content)
    except FileExistsError as error:
        raise KbError(
            f"{target} is there already, with another content, and nothing is overwritten",
            "move it away and try again, or write to another folder with --out and join the two",
        ) from error
    return [target]


def text(kind: str, house: Path) -> str:
    """Return the file of *kind*, filled in for *house* and for this version of the product."""
    chosen = _known(kind)
    words = (folder("templates") / "hosted" / chosen.template).read_text(encoding="utf-8")
    for name, value in {**_filled(house), **chosen.says}.items():
        words = words.replace(f"@{name}@", value)
    return words


def _known(kind: str) -> Kind:
    if kind in KINDS:
        return KINDS[kind]
    near = nearest(kind, KINDS, cutoff=0.5)
    hint = f"did you mean '{near}'? " if near else ""
    raise KbError(f"there is no kind of hosting '{kind}'", f"{hint}there are: {', '.join(KINDS)}")


def _filled(house: Path) -> Mapping[str, str]:
    below = house.resolve().relative_to(top_of(house)).as_posix()
    if odd := _ODD.search(below):
        raise KbError(
            f"the path {below} holds {odd[0]!r}, which hosts read as more than a name",
            "rename that folder",
        )
    files = "" if below == "." else f"^{re.escape(below)}/"
    return {
        "VERSION": ".".join([*__version__.split(".")[:2], "*"]),
        "HOUSE": below,
        "KB": _inner(shlex.join(["kb", "--house", below])),
        "FILES": _inner(files),
    }


def _inner(words: str) -> str:
    """Return *words* as they stand between the quotation marks of a YAML scalar."""
    return json.dumps(words, ensure_ascii=False)[1:-1]
