"""What can be wrong in a bulletin's body, and how it is said: line, rule, message, remedy."""

from __future__ import annotations

from typing import NamedTuple

from kb.folding import nearest

SIGNAL_WORDS = ("danger", "warning", "caution", "notice")


class Note(NamedTuple):
    """Something to mend in a body, with its line in the file."""

    line: int
    rule: str
    message: str
    remedy: str


def panel_stray(line: int) -> Note:
    """Return the note on a ``:::`` that closes nothing."""
    return Note(
        line,
        "panel-stray",
        "':::' closes a panel that was never opened",
        "take the line out, or open the panel with '::: warning' above it",
    )


def panel_unclosed(line: int, word: str) -> Note:
    """Return the note on a panel without end."""
    return Note(
        line,
        "panel-unclosed",
        f"the panel '::: {word}' is not closed",
        "put a line with ':::' alone behind its last line",
    )


def panel_unknown(line: int, word: str) -> Note:
    """Return the note on a panel whose word is none of the four signal words."""
    near = nearest(word, SIGNAL_WORDS)
    return Note(
        line,
        "panel-unknown",
        f"'{word}' is not a signal word",
        (f"did you mean '{near}'? " if near else "")
        + "the four are danger, warning, caution and notice",
    )


def link_scheme(line: int, href: str) -> Note:
    """Return the note on a link that a page must not follow."""
    return Note(
        line,
        "link-scheme",
        f"the link to '{_short(href)}' is not followed",
        "link to http, https, mailto or a file of the house",
    )


def picture_alt(line: int, src: str) -> Note:
    """Return the note on a picture without words that stand for it."""
    return Note(
        line,
        "picture-alt",
        f"the picture '{_short(src)}' has no words that stand for it",
        "say between the brackets what it shows: ![pump seen from below](…)",
    )


def picture_remote(line: int, src: str) -> Note:
    """Return the note on a picture that another host would have to give."""
    return Note(
        line,
        "picture-remote",
        f"the picture '{_short(src)}' lies elsewhere",
        "copy it into the bulletin's own folder and name it there",
    )


def picture_outside(line: int, src: str) -> Note:
    """Return the note on a picture whose path leads out of the house."""
    return Note(
        line,
        "picture-outside",
        f"the picture '{_short(src)}' is not in the house",
        "copy it into the bulletin's own folder and name it there",
    )


def _short(address: str) -> str:
    return address if len(address) <= 60 else address[:57] + "…"
