"""Pictures of a house: drawings held to an allow-list, and the size of a picture for the page.

A drawing (SVG) is a document that can run scripts and fetch files, so only what drawings need is
let through: elements and attributes by name, links within the drawing alone, no document type.
Photographs (PNG, JPEG) are only asked for their size.
"""

from __future__ import annotations

import json
import re
import struct
from collections.abc import Mapping
from xml.parsers import expat

from kb import resources

SUFFIXES = (".svg", ".png", ".jpg", ".jpeg", ".webp", ".gif")

_SVG = "http://www.w3.org/2000/svg"
_XLINK = "http://www.w3.org/1999/xlink"
_XML = "http://www.w3.org/XML/1998/namespace"

_DRAWING = json.loads(resources.data("drawing.json").read_text("utf-8"))
_ELEMENTS = frozenset(_DRAWING["elements"])
_ATTRIBUTES = frozenset(_DRAWING["attributes"])
_REFERENCE = re.compile(
    r"url\s*\(\s*+[\"']?+\s*+(?!#)|@import|expression\s*\(|javascript:|\\", re.I
)
_LENGTH = re.compile(r"\s*([0-9.]+)\s*(?:px)?\s*$")


class _Checker:
    """Reads one drawing; expat calls the methods."""

    def __init__(self) -> None:
        self.found: list[tuple[int, str]] = []
        self.depth = 0
        self.root: Mapping[str, str] = {}
        self.in_style = False
        parser = expat.ParserCreate(namespace_separator=" ")
        parser.StartElementHandler = self.start
        parser.EndElementHandler = self.end
        parser.CharacterDataHandler = self.characters
        parser.ProcessingInstructionHandler = self.instruction
        parser.StartDoctypeDeclHandler = self.doctype
        parser.buffer_text = True
        self.parser = parser

    def say(self, message: str) -> None:
        self.found.append((self.parser.CurrentLineNumber, message))

    def start(self, name: str, attributes: dict[str, str]) -> None:
        space, _, element = name.rpartition(" ")
        if self.depth == 0:
            self.root = attributes
            if name != f"{_SVG} svg":
                self.say("it is no SVG drawing: the first element has to be <svg xmlns=…>")
        elif space != _SVG or element not in _ELEMENTS:
            self.say(f"the element <{element}> is not allowed in a drawing")
        self.depth += 1
        self.in_style = element == "style"
        for attribute, value in attributes.items():
            self.attribute(attribute, value)

    def attribute(self, name: str, value: str) -> None:
        space, _, plain = name.rpartition(" ")
        if space == _XML or (plain.startswith(("aria-", "data-")) and not space):
            return
        if plain == "href" and space in ("", _XLINK):
            if not value.strip().startswith("#"):
                self.say(f"the link to '{value[:60]}' leads out of the drawing")
        elif space or plain not in _ATTRIBUTES:
            self.say(f"the attribute '{plain}' is not allowed in a drawing")
        elif _REFERENCE.search(value):
            self.say(f"the attribute '{plain}' fetches something from outside the drawing")

    def end(self, name: str) -> None:
        self.depth -= 1
        self.in_style = False

    def characters(self, text: str) -> None:
        if self.in_style and _REFERENCE.search(text):
            self.say("the style sheet fetches something from outside the drawing")

    def instruction(self, target: str, data: str) -> None:
        self.say(f"the instruction <?{target}?> is not allowed in a drawing")

    def doctype(self, *_: object) -> None:
        self.say("a document type (<!DOCTYPE …>) is not allowed: entities could do harm")
        raise _Refused


class _Refused(Exception):
    """Reading stops here: what follows cannot be trusted."""


def _read(data: bytes) -> _Checker:
    checker = _Checker()
    try:
        checker.parser.Parse(data, True)
    except _Refused:
        pass
    except (expat.ExpatError, ValueError, LookupError) as error:
        line = getattr(error, "lineno", 1)
        said = getattr(error, "code", None)
        reason = expat.ErrorString(said) if said else str(error)
        checker.found.append((line, f"the drawing cannot be read: {reason}"))
    return checker


def check_svg(data: bytes) -> list[tuple[int, str]]:
    """Return what is wrong with a drawing, as (line, message); empty for a sound one.

    Allowed are shapes, text, gradients, patterns, markers, clips, masks and ``use`` of the
    drawing's own parts; no script, no event, no foreign object, no picture, no outside address.
    """
    return _read(data).found


def size(name: str, data: bytes) -> tuple[int, int] | None:
    """Return width and height in CSS pixels of a picture, or None where it does not say.

    *name* gives the kind by its suffix. A drawing without width and height gives its viewBox.
    """
    if name.lower().endswith(".svg"):
        return _svg_size(_read(data).root)
    if data[:8] == b"\x89PNG\r\n\x1a\n" and len(data) >= 24:
        return struct.unpack(">II", data[16:24])
    if data[:6] in (b"GIF87a", b"GIF89a") and len(data) >= 10:
        return struct.unpack("<HH", data[6:10])
    return _jpeg_size(data) if data[:2] == b"\xff\xd8" else None


def _svg_size(root: Mapping[str, str]) -> tuple[int, int] | None:
    view = root.get("viewBox", "").replace(",", " ").split()
    given = [_LENGTH.match(root.get(key, "")) for key in ("width", "height")]
    texts = [m.group(1) for m in given if m] if all(given) else view[2:4]
    try:
        width, height = (round(float(text)) for text in texts)
    except (ValueError, OverflowError):
        return None
    return (width, height) if width > 0 and height > 0 else None


def _jpeg_size(data: bytes) -> tuple[int, int] | None:
    at = 2
    while at + 9 <= len(data) and data[at] == 0xFF:
        marker, length = data[at + 1], int.from_bytes(data[at + 2 : at + 4], "big")
        if 0xC0 <= marker <= 0xCF and marker not in (0xC4, 0xC8, 0xCC):
            height, width = struct.unpack(">HH", data[at + 5 : at + 9])
            return width, height
        at += 2 + length
    return None
