"""Drawings held to the allow-list, and the sizes of pictures."""

from __future__ import annotations

import struct
from pathlib import Path

import pytest

from kb.pictures import check_svg, size

HEAD = '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" '


def drawing(inside: str, attributes: str = 'viewBox="0 0 320 200"') -> bytes:
    return f"{HEAD}{attributes}>\n{inside}\n</svg>".encode()


SOUND = [
    "<title>Pump</title><desc>from below</desc>",
    '<g id="a" fill="none" stroke="#000" transform="rotate(45)"><path d="M0 0h9"/></g>',
    '<defs><linearGradient id="g"><stop offset="0" stop-color="red"/></linearGradient></defs>'
    '<rect width="9" height="9" fill="url(#g)"/>',
    '<symbol id="s"><circle r="3"/></symbol><use href="#s"/><use xlink:href="#s"/>',
    '<text x="1" text-anchor="middle" xml:space="preserve">E21 <tspan dy="3">x</tspan></text>',
    '<marker id="m" orient="auto"><path d="M0 0"/></marker><line x1="0" marker-end="url( #m )"/>',
    "<style>.a { fill: url(#g); }</style>",
    '<rect style="fill: #fff; stroke: url(#g)" class="a" aria-label="x" data-name="y"/>',
    "<!-- a remark -->",
]


@pytest.mark.parametrize("inside", SOUND)
def test_a_sound_drawing_is_let_through(inside: str) -> None:
    assert check_svg(drawing(inside)) == []


HARMFUL = [
    ("<script>alert(1)</script>", "<script>"),
    ("<script xlink:href='https://example.com/x.js'/>", "<script>"),
    ('<rect onload="alert(1)"/>', "onload"),
    ('<rect ONCLICK="alert(1)"/>', "ONCLICK"),
    ("<foreignObject><p>x</p></foreignObject>", "foreignObject"),
    ('<image href="https://example.com/x.png"/>', "<image>"),
    ('<image href="data:image/png;base64,AA"/>', "<image>"),
    ('<use href="https://example.com/x.svg#a"/>', "out of the drawing"),
    ('<use xlink:href="other.svg#a"/>', "out of the drawing"),
    ('<a href="javascript:alert(1)"><text>x</text></a>', "<a>"),
    ('<rect fill="url(https://example.com/x)"/>', "outside"),
    ("<rect style=\"background: url('//example.com')\"/>", "outside"),
    ('<rect style="fill: u\\72l(//example.com)"/>', "outside"),
    ("<style>@import 'https://example.com/x.css';</style>", "outside"),
    ("<style>rect { fill: url(https://example.com/x) }</style>", "outside"),
    ('<animate attributeName="href" to="javascript:x"/>', "<animate>"),
    ('<set attributeName="onload" to="x"/>', "<set>"),
    ('<iframe src="https://example.com"/>', "<iframe>"),
    ('<h:script xmlns:h="http://www.w3.org/1999/xhtml">x</h:script>', "<script>"),
    ('<e:x xmlns:e="http://example.com/e"/>', "<x>"),
    ("<?xml-stylesheet href='https://example.com/x.css'?>", "xml-stylesheet"),
    ('<filter id="f"><feImage href="x"/></filter>', "<filter>"),
    ("<metadata>x</metadata>", "<metadata>"),
]


@pytest.mark.parametrize(("inside", "said"), HARMFUL)
def test_what_a_drawing_does_not_need_is_refused_with_its_line(inside: str, said: str) -> None:
    found = check_svg(drawing(inside))
    assert any(said in message for _, message in found), found
    assert {line for line, _ in found} == {2}


@pytest.mark.parametrize(
    "content",
    [
        b'<!DOCTYPE svg><svg xmlns="http://www.w3.org/2000/svg"/>',
        b'<!DOCTYPE svg [<!ENTITY a "b">]><svg xmlns="http://www.w3.org/2000/svg">&a;</svg>',
        b'<!DOCTYPE svg SYSTEM "https://example.com/x.dtd">'
        b'<svg xmlns="http://www.w3.org/2000/svg"/>',
    ],
)
def test_a_document_type_is_refused(content: bytes) -> None:
    ((line, message),) = check_svg(content)
    assert line == 1
    assert "document type" in message


def test_entities_that_multiply_are_never_opened() -> None:
    entities = "".join(f'<!ENTITY e{n} "{f"&e{n - 1};" * 10 if n else "x"}">' for n in range(12))
    content = f"<!DOCTYPE svg [{entities}]><svg>&e11;</svg>".encode()
    assert len(check_svg(content)) == 1


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"", "cannot be read"),
        (b"<svg", "cannot be read"),
        (b"\xff\xfe\x00", "cannot be read"),
        (b"<html/>", "no SVG drawing"),
        (b"<svg/>", "no SVG drawing"),
        (b"\x89PNG\r\n", "cannot be read"),
        (b'<?xml version="1.0" encoding="klingon"?><svg/>', "cannot be read"),
    ],
)
def test_what_is_no_drawing_is_said_to_be_none(content: bytes, said: str) -> None:
    assert said in check_svg(content)[0][1]


def test_a_fault_is_blamed_at_its_own_line() -> None:
    content = drawing("<g>\n\n<script>x</script>\n</g>")
    assert check_svg(content) == [(4, "the element <script> is not allowed in a drawing")]


@pytest.mark.parametrize(
    ("attributes", "expected"),
    [
        ('viewBox="0 0 320 200"', (320, 200)),
        ('viewBox="0,0,320.4,199.6"', (320, 200)),
        ('width="640" height="400" viewBox="0 0 320 200"', (640, 400)),
        ('width="64px" height="40px"', (64, 40)),
        ('width="100%" viewBox="0 0 320 200"', (320, 200)),
        ('viewBox="0 0 0 0"', None),
        ('viewBox="a b c d"', None),
        ('viewBox="0 0 1e999 5"', None),
        ('viewBox="0 0 nan 5"', None),
        ("", None),
    ],
)
def test_a_drawings_size_is_read(attributes: str, expected: tuple[int, int] | None) -> None:
    assert size("a.svg", drawing("", attributes)) == expected


def png(width: int, height: int) -> bytes:
    return b"\x89PNG\r\n\x1a\n" + b"\x00\x00\x00\rIHDR" + struct.pack(">II", width, height)


def jpeg(width: int, height: int) -> bytes:
    app = b"\xff\xe0\x00\x10" + b"JFIF\0" + bytes(9)
    return b"\xff\xd8" + app + b"\xff\xc0\x00\x11\x08" + struct.pack(">HH", height, width) + b"\x03"


@pytest.mark.parametrize(
    ("name", "content", "expected"),
    [
        ("a.png", png(640, 480), (640, 480)),
        ("a.jpg", jpeg(800, 600), (800, 600)),
        ("a.JPEG", jpeg(1, 2), (1, 2)),
        ("a.gif", b"GIF89a" + struct.pack("<HH", 30, 20), (30, 20)),
        ("a.png", b"", None),
        ("a.png", png(1, 1)[:20], None),
        ("a.jpg", b"\xff\xd8\xff", None),
        ("a.jpg", b"\xff\xd8" + b"\xff\xe0\x00\x00" * 3, None),
        ("a.webp", b"RIFF", None),
    ],
)
def test_a_photographs_size_is_read(
    name: str, content: bytes, expected: tuple[int, int] | None
) -> None:
    assert size(name, content) == expected


def test_every_drawing_of_the_demo_house_is_sound_and_says_its_size(demo_house: Path) -> None:
    drawings = sorted(demo_house.rglob("*.svg"))
    assert drawings
    for path in drawings:
        content = path.read_bytes()
        assert check_svg(content) == [], path
        assert size(path.name, content), path
