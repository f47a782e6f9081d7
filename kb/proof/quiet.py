"""Bodies in which nothing can be wrong, told without reading their Markdown.

Reading a body takes longer than all else that the proof does with a bulletin. What the reading
notes are panels, quantities, links and pictures: a body in which all of these are plainly sound has
no notes, whatever else is in it. Where in doubt it is read.
"""

from __future__ import annotations

import re
from functools import lru_cache

from kb.bodynotes import SIGNAL_WORDS
from kb.errors import KbError
from kb.quantities import looks_like_quantity, read

# Links and pictures, code that may hide a panel's end, and signs that change what stands in braces.
_IN_DOUBT = re.compile(r"[\[<`~\\]")
_BRACES = re.compile(r"\{[ \t]*([^{}\n|]{1,60}?)[ \t]*\}")
_PANEL_LINE = re.compile(r"^.*:::.*$", re.MULTILINE)
_OPENS = re.compile(rf"::: ?({'|'.join(SIGNAL_WORDS)})(?: [^:]*)?")
_CLOSES = ":::"


def is_quiet(body: str) -> bool:
    """Tell whether the reading of *body* is sure to note nothing and to find no picture."""
    if _IN_DOUBT.search(body):
        return False
    return ("{" not in body or _sound_braces(body)) and (":::" not in body or _sound_panels(body))


def _sound_braces(body: str) -> bool:
    found = _BRACES.findall(body)
    return len(found) == body.count("{") and all(map(_sound_quantity, found))


@lru_cache(maxsize=4096)
def _sound_quantity(content: str) -> bool:
    try:
        if looks_like_quantity(content):
            read(content)
    except KbError:
        return False
    return True


def _sound_panels(body: str) -> bool:
    """Tell whether panels are opened and closed in turn, at the margin, with known words."""
    lines = _PANEL_LINE.findall(body)
    opened, closed = lines[::2], lines[1::2]
    return (
        len(opened) == len(closed)
        and all(map(_OPENS.fullmatch, opened))
        and all(line == _CLOSES for line in closed)
    )
