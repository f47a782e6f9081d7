"""What a page looks up, by name. A page that looked up nothing that changed is as it was.

Each fact is a short text: what kind of thing is asked, then about what. Pages note the facts while
they are made (`kb.pages.Desk.saw`), and `kb.making.changes` tells which facts differ from one
publish to the next; both take the names from here.
"""

from __future__ import annotations

from datetime import date

from kb.folding import fold

TODAY = "today"  # the day that is reckoned with
STANDING = "standing"  # which bulletins are in force, and their dates
PUBLISHED = "published"  # which bulletins have a page
START = "start"  # where the data begin that the front page's search fetches
CODE_WORDS = "code words"  # which fault codes are words without a figure


def content(number: str) -> str:
    """Return the fact of all that a bulletin says, by its number as written."""
    return f"content {number}"


def card(number: str) -> str:
    """Return the fact of what a list shows of a bulletin: title, kind, date, what it is about."""
    return f"card {number}"


def names(number: str) -> str:
    """Return the fact of which components, symptoms and codes a bulletin gives."""
    return f"names {number}"


def known(number: str) -> str:
    """Return the fact of whether a number is a bulletin's, where its page lies and its title."""
    return f"known {fold(number)}"


def number(typed: str) -> str:
    """Return the fact of what a number in a text leads to: bulletin, part, code or nothing."""
    return f"number {fold(typed)}"


def successor(number: str) -> str:
    """Return the fact of whether a bulletin stands, and what supersedes it."""
    return f"successor {fold(number)}"


def naming(number: str) -> str:
    """Return the fact of which bulletins in force call a number related."""
    return f"naming {fold(number)}"


def member(kind: str, key: str) -> str:
    """Return the fact of which bulletins in force give a name.

    *kind* is the folder of such pages (``components`` …), *key* the folded name.
    """
    return f"in {kind} {key}"


def named(kind: str, key: str) -> str:
    """Return the fact of whether a name has a page, how it is written, and where the page lies."""
    return f"named {kind} {key}"


def ways(kind: str) -> str:
    """Return the fact of all names of a kind, and how many bulletins give each."""
    return f"ways {kind}"


def pages(kind: str) -> str:
    """Return the fact of which names of a kind have a page, how they are written, and where."""
    return f"pages {kind}"


def reach(model: str) -> str:
    """Return the fact of which bulletins in force can mean a model, and where each applies."""
    return f"reach {model}"


def quarter(name: str) -> str:
    """Return the fact of which bulletins were issued, revised or replaced in a quarter."""
    return f"quarter {name}"


def quarter_of(day: date) -> str:
    """Return the fact for the quarter of a day."""
    return quarter(f"{day.year:04}-Q{(day.month + 2) // 3}")


def part(number: str) -> str:
    """Return the fact of what the part lists say of a number, and of all that it is tied to."""
    return f"part {fold(number)}"


def file(path: str) -> str:
    """Return the fact of what a file of the house holds that is no bulletin."""
    return f"file {path}"
