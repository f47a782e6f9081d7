"""Pages joined with their templates. This is the one module that imports Jinja.

Everything is escaped unless a template says otherwise, and a name that a page does not give is an
error, not an empty place.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from functools import lru_cache

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from kb.pages.page import Page
from kb.resources import folder

_KEPT = 100_000  # pieces: all entries of a large house at two depths


class Renderer:
    """Turns pages into text; templates are read once and kept."""

    def __init__(self) -> None:
        self._templates = Environment(
            loader=FileSystemLoader(folder("templates"), encoding="utf-8"),
            autoescape=True,
            undefined=StrictUndefined,
            trim_blocks=True,
            lstrip_blocks=True,
            keep_trailing_newline=True,
            auto_reload=False,
        )
        # What many pages show alike, such as a bulletin in a list, is rendered once for each depth.
        kept: Callable[..., Markup] = lru_cache(_KEPT)(_rendered)
        self._templates.globals["kept"] = kept
        self._templates.globals["each"] = lambda macro, items, root: _joined(
            kept(macro, item, root) for item in items
        )
        for name in ("macros", "frame"):  # no page need bring them in for itself
            self._templates.globals[name] = self._templates.get_template(f"{name}.html").module
        # Members keep their order and their letters; tojson escapes what could end an element.
        self._templates.policies["json.dumps_kwargs"] = {"ensure_ascii": False, "indent": 1}

    def text(self, page: Page) -> str:
        """Return the text of *page*; links in it go by way of the page's own ``root``."""
        template = self._templates.get_template(page.template)
        return template.render(page.data, root=page.data.get("base") or page.root, path=page.path)


def _rendered(macro: Callable[..., str], *values: object) -> Markup:
    return Markup(macro(*values))


def _joined(pieces: Iterable[str]) -> Markup:
    return Markup("".join(pieces))
