"""Whether HTML is well formed: every element closed in its turn, attributes and names unique."""

from __future__ import annotations

from html.parser import HTMLParser

VOID = frozenset("area base br col embed hr img input link meta source track wbr".split())  # noqa: SIM905


class _Balance(HTMLParser):
    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.open: list[str] = []
        self.problems: list[str] = []
        self.ids: set[str] = set()
        self.tags: list[tuple[str, dict[str, str | None]]] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        names = [name for name, _ in attrs]
        if len(names) != len(set(names)):
            self.problems.append(f"<{tag}> has an attribute twice")
        self.tags.append((tag, dict(attrs)))
        identity = dict(attrs).get("id")
        if identity is not None and identity in self.ids:
            self.problems.append(f"the id {identity} stands twice")
        self.ids.add(identity or "")
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        if not self.open or self.open[-1] != tag:
            self.problems.append(f"</{tag}> closes {self.open[-1:] or 'nothing'}")
        else:
            self.open.pop()


def problems_of(text: str) -> list[str]:
    """Return what is not well formed in *text*, nothing for sound HTML."""
    reader = _Balance()
    reader.feed(text)
    reader.close()
    return reader.problems + [f"<{tag}> is never closed" for tag in reader.open]


def elements(text: str) -> list[tuple[str, dict[str, str | None]]]:
    """Return every element of *text* in order, with its attributes."""
    reader = _Balance()
    reader.feed(text)
    reader.close()
    return reader.tags
