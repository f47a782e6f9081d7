"""Pages joined with their templates. This is the one module that imports Jinja.

Everything is escaped unless a template says otherwise, and a name that a page does not give is an
error, not an empty place.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, MutableMapping
from functools import lru_cache

from jinja2 import BytecodeCache, Environment, FileSystemLoader, StrictUndefined
from jinja2.bccache import Bucket
from markupsafe import Markup

from kb.pages.page import Page
from kb.resources import folder

_KEPT = 100_000  # pieces: all entries of a large house at two depths


class _Compiled(BytecodeCache):
    """Templates as they were compiled before; one that has changed since is told by its text."""

    def __init__(self, held: MutableMapping[str, bytes]) -> None:
        self._held = held

    def load_bytecode(self, bucket: Bucket) -> None:
        if bucket.key in self._held:
            bucket.bytecode_from_string(self._held[bucket.key])

    def dump_bytecode(self, bucket: Bucket) -> None:
        self._held[bucket.key] = bucket.bytecode_to_string()


class Renderer:
    """Turns pages into text; templates are read once and kept.

    *compiled* holds templates as an earlier renderer compiled them, and takes up what this one
    compiles: to be kept where nobody else can write.
    """

    def __init__(self, compiled: MutableMapping[str, bytes] | None = None) -> None:
        self._templates = Environment(
            loader=FileSystemLoader(folder("templates"), encoding="utf-8"),
            autoescape=True,
            undefined=StrictUndefined,
            trim_blocks=True,
            lstrip_blocks=True,
            keep_trailing_newline=True,
            auto_reload=False,
            bytecode_cache=None if compiled is None else _Compiled(compiled),
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
