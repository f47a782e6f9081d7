"""The plain text of a read body, as the search sees it: a line for each block or table row."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import Any


def words(children: Sequence[Any]) -> str:
    """Return the text of inline tokens; a picture gives the words that stand for it."""
    parts = []
    for token in children:
        if token.type == "image":
            parts.append(words(token.children or []))
        elif token.type in ("softbreak", "hardbreak"):
            parts.append(" ")
        else:
            parts.append(token.content)
    return "".join(parts)


def lines(tokens: Sequence[Any]) -> Iterator[str]:
    """Yield a line for each block; the cells of a table row share one, code keeps its own."""
    row: list[str] | None = None
    for token in tokens:
        if token.type == "tr_open":
            row = []
        elif token.type == "tr_close" and row is not None:
            yield " | ".join(row)
            row = None
        elif token.type == "panel_open":
            yield " ".join(filter(None, (token.info.upper(), token.content)))
        elif token.type in ("fence", "code_block"):
            yield from filter(str.strip, token.content.splitlines())
        elif token.type == "inline":
            text = " ".join(words(token.children or []).split())
            if row is not None:
                row.append(text)
            elif text:
                yield text


def first_paragraph(tokens: Sequence[Any]) -> str:
    """Return the first paragraph that stands alone: in no list, panel, quotation or table."""
    for before, token in pairwise(tokens):
        if token.type != "inline" or token.level != 1 or before.type != "paragraph_open":
            continue
        said = [child for child in token.children or [] if child.type != "image"]
        text = " ".join(words(said).split())
        if text:
            return text
    return ""


def table_name(tokens: Sequence[Any]) -> str:
    """Return what a table is called by those who do not see it: the heads of its columns."""
    named = []
    for token in tokens:
        if token.type == "thead_close":
            break
        if token.type == "inline":
            named.append(" ".join(words(token.children or []).split()))
    return "Table: " + ", ".join(filter(None, named)) if any(named) else "Table"
