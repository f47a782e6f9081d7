"""A bulletin's body: Markdown read once, then shown as HTML or as plain text for the search.

The dialect is CommonMark with tables and strike-through, and three things of our own: signal-word
panels (``::: warning`` … ``:::``), quantities in braces (``{12 N m}``) shown in both unit systems,
and numbers that become links by themselves. Raw HTML is shown as text; links lead to http, https,
mailto or relative addresses only. This is the one module that imports markdown-it-py.

The four signal words and what they stand for follow ANSI Z535.4: DANGER, WARNING and CAUTION are
about injury and carry the safety-alert symbol, NOTICE is not and never does.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any, NamedTuple

from markdown_it import MarkdownIt
from markdown_it.renderer import RendererHTML
from markdown_it.rules_block import StateBlock
from markdown_it.rules_core import StateCore
from markdown_it.rules_inline import StateInline
from markdown_it.token import Token
from markdown_it.utils import OptionsDict

from kb import bodynotes, outlines, plaintext
from kb.addresses import below, is_remote, is_safe_link
from kb.bodynotes import SIGNAL_WORDS, Note
from kb.errors import KbError
from kb.linking import Link
from kb.outlines import Open, Outline, Place, Showing, escaped, filled
from kb.plaintext import words

_FENCE = re.compile(r"(:{3,})\s*(.*?)\s*:*\s*$")
_CODE_FENCE = re.compile(r"\s*(`{3,}|~{3,})")
_QUANTITY = re.compile(r"\{\s*([^{}\n]{1,80}?)\s*\}")
# Every character at which a rule inside a line can begin.
_MARKS = re.compile(r"[\n\\`*_{\[<&~]")
_TOP_HEADING = 3
_OPEN = "\0"  # stands for what an outline leaves open: no body holds it once it is read

# The safety-alert symbol: a triangle with an exclamation mark cut out, in the colour of the words.
ALERT = (
    '<svg class="alert" viewBox="0 0 24 21" width="24" height="21" aria-hidden="true" '
    'focusable="false"><path fill="currentColor" fill-rule="evenodd" d="M12 0 24 21H0zM10.7 7l.5 '
    '7.5h1.6l.5-7.5zM12 15.9a1.4 1.4 0 1 0 0 2.8 1.4 1.4 0 0 0 0-2.8z"/></svg>'
)


class Picture(NamedTuple):
    """A picture as the body names it: address, words instead of it, line in the file."""

    src: str
    alt: str
    line: int


@dataclass(frozen=True, slots=True)
class Body:
    """A body as read: *text* is plain, a line for each block; *notes* are in order of lines.

    *files* are the relative addresses of all pictures and links, as they stand in the body.
    """

    tokens: tuple[Token, ...]
    text: str
    first_paragraph: str
    pictures: tuple[Picture, ...]
    notes: tuple[Note, ...]
    files: tuple[str, ...] = ()


def read(body: str, first_line: int = 1, folder: str | None = None) -> Body:
    """Read Markdown; *first_line* is the line of the file on which the body starts.

    *folder* is the bulletin's folder below the house, by which ``..`` in a picture's path is
    judged; without it every ``..`` is noted. Nothing that an author types makes this fail.
    """
    env: dict[str, Any] = {"notes": []}
    tokens = _parser().parse(body, env)
    notes: list[Note] = [note._replace(line=note.line + first_line) for note in env["notes"]]
    reader = _Reader(first_line, folder, notes)
    reader.walk(tokens)
    return Body(
        tokens=tuple(tokens),
        text="\n".join(plaintext.lines(tokens)),
        first_paragraph=plaintext.first_paragraph(tokens),
        pictures=tuple(reader.pictures),
        notes=tuple(sorted(notes)),
        files=tuple(dict.fromkeys(reader.files)),
    )


def html(
    body: Body,
    link: Link,
    units: str = "metric",
    place: Place | None = None,
    hint: re.Pattern[str] | None = None,
) -> str:
    """Return *body* as HTML, escaped throughout.

    *link* gives the address for a number typed in the text, or None where it is none that the
    house knows. *units* says which system comes first. *place* gives address and size for a
    picture or file named by the body, or None for one that is not to be shown. *hint* as in
    `kb.linking.linked`.
    """
    return filled(outline(body), Showing(link, units, place, hint))


def outline(body: Body) -> Outline:
    """Return the HTML of *body* but for what hangs on the page that shows it."""
    pieces: list[Open] = []
    text = str(_parser().renderer.render(body.tokens, _parser().options, {"open": pieces}))
    return Outline(tuple(text.split(_OPEN)), tuple(pieces))


def _is_quantity(content: str) -> bool:
    from kb.quantities import looks_like_quantity

    return looks_like_quantity(content)


@cache
def _parser() -> MarkdownIt:
    parser = MarkdownIt("commonmark", {"html": False, "xhtmlOut": False}, renderer_cls=_Html)
    parser.enable(["table", "strikethrough"])
    # Every link is read, so that a dangerous one can be noted with its line; the reader undoes it.
    parser.validateLink = lambda url: True  # type: ignore[method-assign]
    parser.block.ruler.before(
        "fence", "panel", _panel, {"alt": ["paragraph", "reference", "blockquote", "list"]}
    )
    parser.inline.ruler.before("emphasis", "quantity", _quantity)
    parser.core.ruler.at("inline", _inline)
    return parser


# Parsing: panels and quantities


def _line_text(state: StateBlock, line: int) -> str:
    return state.src[state.bMarks[line] + state.tShift[line] : state.eMarks[line]]


def _panel(state: StateBlock, start: int, end: int, silent: bool) -> bool:
    opening = _FENCE.match(_line_text(state, start))
    if not opening or state.is_code_block(start):
        return False
    if silent:
        return True
    word, _, title = opening.group(2).partition(" ")
    if not word:
        state.env["notes"].append(bodynotes.panel_stray(start))
        state.line = start + 1
        return True
    close = _closing_line(state, start, end)
    if close is None:
        state.env["notes"].append(bodynotes.panel_unclosed(start, word))
    _panel_tokens(state, start, end if close is None else close, word.lower(), title.strip())
    state.line = end if close is None else close + 1
    return True


def _closing_line(state: StateBlock, start: int, end: int) -> int | None:
    """Return the line that closes the panel opened on *start*; panels may hold panels and code."""
    depth, code = 1, ""
    for line in range(start + 1, end):
        if state.sCount[line] < state.blkIndent and not state.isEmpty(line):
            return None
        text = _line_text(state, line)
        fence = _CODE_FENCE.match(text)
        if fence and (not code or text.strip().startswith(code)):
            code = "" if code else fence.group(1)
        mark = None if code else _FENCE.match(text)
        if mark:
            depth += 1 if mark.group(2) else -1
        if not depth:
            return line
    return None


def _panel_tokens(state: StateBlock, start: int, close: int, word: str, title: str) -> None:
    if word not in SIGNAL_WORDS:
        state.env["notes"].append(bodynotes.panel_unknown(start, word))
    token = state.push("panel_open", "aside", 1)
    token.map, token.block, token.info, token.content = [start, close], True, word, title
    saved = state.parentType, state.lineMax
    state.parentType, state.lineMax = "panel", close
    state.md.block.tokenize(state, start + 1, close)
    state.parentType, state.lineMax = saved
    state.push("panel_close", "aside", -1).block = True


def _inline(state: StateCore) -> None:
    """Read the text of each block; one without any mark, which most are, is one piece of text."""
    for token in state.tokens:
        if token.type == "inline":
            children: list[Token] = []
            if _MARKS.search(token.content):
                state.md.inline.parse(token.content, state.md, state.env, children)
            elif token.content:
                children.append(Token("text", "", 0, content=token.content))
            token.children = children


def _quantity(state: StateInline, silent: bool) -> bool:
    if state.src[state.pos] != "{":
        return False
    found = _QUANTITY.match(state.src, state.pos)
    if not found or not _is_quantity(found.group(1)):
        return False
    if not silent:
        state.push("quantity", "", 0).content = found.group(1)
    state.pos = found.end()
    return True


# Reading: what the tokens hold, made safe for showing


class _Reader:
    """Walks the tokens once: collects pictures and notes, and unmakes what must not be shown."""

    def __init__(self, first_line: int, folder: str | None, notes: list[Note]) -> None:
        self.first_line, self.folder, self.notes = first_line, folder, notes
        self.pictures: list[Picture] = []
        self.files: list[str] = []
        self.levels: list[int] = []

    def walk(self, tokens: Sequence[Token]) -> None:
        line = 0
        for index, token in enumerate(tokens):
            line = token.map[0] if token.map else line
            if token.type == "heading_open":
                token.tag = tokens[index + 2].tag = self.heading(int(token.tag[1]))
            align = str(token.attrs.pop("style", "")).removeprefix("text-align:")
            if align:  # a style attribute would be refused by the page's content policy
                token.attrs["class"] = f"to-{align}"
            if token.children:
                self.inline(token.children, line + self.first_line)

    def heading(self, level: int) -> str:
        """Return the tag for a heading so that none is skipped below the page's own."""
        while self.levels and self.levels[-1] >= level:
            self.levels.pop()
        self.levels.append(level)
        return f"h{min(_TOP_HEADING + len(self.levels) - 1, 6)}"

    def inline(self, children: list[Token], line: int) -> None:
        inside: list[bool] = []
        for token in children:
            if token.type in ("softbreak", "hardbreak"):
                line += 1
            elif token.type == "link_open":
                inside.append(self.link(token, line))
            elif token.type == "link_close" and not inside.pop():
                token.hidden = True
            elif token.type == "image":
                self.picture(token, line)
            elif token.type == "quantity":
                self.quantity(token, line)
            if inside:
                token.meta = {**token.meta, "linked": True}

    def link(self, token: Token, line: int) -> bool:
        href = str(token.attrs.get("href", ""))
        if is_safe_link(href):
            self.files += [] if is_remote(href) else [href]
            return True
        token.hidden = True
        self.notes.append(bodynotes.link_scheme(line, href))
        return False

    def picture(self, token: Token, line: int) -> None:
        src, alt = str(token.attrs.get("src", "")), words(token.children or [])
        self.pictures.append(Picture(src, alt, line))
        self.files += [] if is_remote(src) else [src]
        if not alt.strip():
            self.notes.append(bodynotes.picture_alt(line, src))
        if is_remote(src):
            token.hidden = True
            self.notes.append(bodynotes.picture_remote(line, src))
        elif self.outside(src):
            token.hidden = True
            self.notes.append(bodynotes.picture_outside(line, src))

    def outside(self, src: str) -> bool:
        return below("" if self.folder is None else self.folder, src) is None

    def quantity(self, token: Token, line: int) -> None:
        from kb.quantities import read  # reading starts no unit library; showing does

        try:
            read(token.content)
        except KbError as trouble:
            token.meta = {**token.meta, "bad": True}
            self.notes.append(Note(line, "quantity", trouble.message, trouble.remedy))


# Showing


class _Html(RendererHTML):
    """Shows tokens as an outline. markdown-it-py finds the methods below by the tokens' names."""

    def text(self, tokens: Sequence[Token], idx: int, options: OptionsDict, env: Any) -> str:
        token = tokens[idx]
        if token.meta.get("linked"):
            return escaped(token.content)
        return _left_open(env, outlines.Text(token.content))

    def quantity(self, tokens: Sequence[Token], idx: int, options: OptionsDict, env: Any) -> str:
        token = tokens[idx]
        if token.meta.get("bad"):
            return escaped("{" + token.content + "}")
        return _left_open(env, outlines.Amount(token.content))

    def image(self, tokens: Sequence[Token], idx: int, options: OptionsDict, env: Any) -> str:
        token = tokens[idx]
        src, alt = str(token.attrs.get("src", "")), words(token.children or [])
        if token.hidden:
            return outlines.no_picture(alt)
        return _left_open(env, outlines.Image(src, alt))

    def link_open(self, tokens: Sequence[Token], idx: int, options: OptionsDict, env: Any) -> str:
        token = tokens[idx]
        href = str(token.attrs.get("href", ""))
        if token.hidden:
            return ""
        if _is_own(href):
            return _left_open(env, outlines.Opening(href))
        return f'<a href="{escaped(href)}"{outlines.foreign(href)}>'

    def link_close(self, tokens: Sequence[Token], idx: int, options: OptionsDict, env: Any) -> str:
        opener = next(t for t in reversed(tokens[:idx]) if t.type == "link_open")
        href = str(opener.attrs.get("href", ""))
        if opener.hidden:
            return ""
        return _left_open(env, outlines.Closing(href)) if _is_own(href) else "</a>"

    def panel_open(self, tokens: Sequence[Token], idx: int, options: OptionsDict, env: Any) -> str:
        token = tokens[idx]
        known = token.info in SIGNAL_WORDS
        alert = ALERT if token.info in ("danger", "warning", "caution") else ""
        kind = token.info if known else "plain"
        title = f'<p class="panel-title">{escaped(token.content)}</p>' if token.content else ""
        return (
            f'<aside class="panel {kind}" role="note">'
            f'<p class="signal">{alert}{escaped(token.info.upper())}</p>{title}\n'
        )

    def panel_close(self, tokens: Sequence[Token], idx: int, options: OptionsDict, env: Any) -> str:
        return "</aside>\n"

    def table_open(self, tokens: Sequence[Token], idx: int, options: OptionsDict, env: Any) -> str:
        # Wide tables are moved sideways by key as well, and several on a page are told apart.
        label = escaped(plaintext.table_name(tokens[idx:]))
        return f'<div class="scroll" tabindex="0" role="group" aria-label="{label}">\n<table>\n'

    def table_close(self, tokens: Sequence[Token], idx: int, options: OptionsDict, env: Any) -> str:
        return "</table>\n</div>\n"


def _left_open(env: Any, piece: Open) -> str:
    env["open"].append(piece)
    return _OPEN


def _is_own(href: str) -> bool:
    """Tell whether a link leads to a file of the house."""
    return not (is_remote(href) or href.startswith("#"))
