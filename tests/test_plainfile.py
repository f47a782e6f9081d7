"""Bytes made text: marks, line ends and odd signs, each told at the line an editor shows."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.faults import Faults
from kb.plainfile import LONGEST_FILE, LONGEST_LINE, decode


def read(data: bytes) -> tuple[str, list[tuple[int, str]]]:
    faults = Faults("a.md")
    text = decode(data, faults)
    return text, [(problem.line, problem.rule) for problem in faults.problems]


def words(data: bytes) -> list[tuple[str, str]]:
    faults = Faults("a.md")
    decode(data, faults)
    return [(problem.message, problem.remedy) for problem in faults.problems]


@pytest.mark.parametrize("ends", [b"\n", b"\r\n", b"\r"])
@pytest.mark.parametrize("mark", [b"", b"\xef\xbb\xbf"])
def test_every_line_end_becomes_a_line_feed_and_the_mark_is_dropped(
    ends: bytes, mark: bytes
) -> None:
    assert read(mark + ends.join([b"one", b"", b"two", b""])) == ("one\n\ntwo\n", [])


def test_line_ends_may_be_mixed() -> None:
    assert read(b"a\rb\r\nc\n\rd\r\r\ne") == ("a\nb\nc\n\nd\n\ne", [])


def test_a_mark_inside_the_text_stays() -> None:
    assert read("a\ufeffb".encode()) == ("a\ufeffb", [])


@pytest.mark.parametrize(
    "text",
    ["", "\n", "a\tb", "a\fb", "Gr\u00fc\u00dfe \u2013 5 \u00b5F", "\u65e5\u672c", "\U0001f600"],
)
def test_text_of_any_language_is_left_as_it_is(text: str) -> None:
    assert read(text.encode()) == (text, [])


@pytest.mark.parametrize("sign", ["\u0085", "\u2028", "\u2029", "\f", "\v"])
def test_nothing_but_a_line_end_starts_a_line(sign: str) -> None:
    _, problems = read(f"one{sign}two\nthree\x01".encode())
    assert problems[-1] == (2, "control-character")


@pytest.mark.parametrize("before", ["", "a\n", "a\r\nb\r\n", "a\rb\rc\r", "\ufeffa\n"])
def test_a_byte_that_is_not_utf_8_is_told_at_its_line(before: str) -> None:
    text, problems = read(before.encode() + b"caf\xe9 au lait\nnext\n")
    line = before.replace("\r\n", "\n").replace("\r", "\n").count("\n") + 1
    assert problems == [(line, "encoding")]
    assert text.endswith("caf\ufffd au lait\nnext\n") and "\ufeff" not in text


def test_the_byte_is_named_and_the_encoding_to_save_with() -> None:
    assert words(b"caf\xe9") == [
        (
            "a character on this line is not UTF-8 (byte E9 hex)",
            "type the character again and save the file with the encoding UTF-8",
        )
    ]


@pytest.mark.parametrize("encoding", ["utf-16", "utf-16-le", "utf-16-be"])
def test_utf_16_is_recognised_by_its_mark_and_not_read(encoding: str) -> None:
    mark = {"utf-16-le": b"\xff\xfe", "utf-16-be": b"\xfe\xff"}.get(encoding, b"")
    data = mark + "number: 1\ntitle: caf\u00e9\n".encode(encoding)
    assert read(data) == ("", [(1, "encoding")])
    assert words(data)[0] == (
        "the file is saved as UTF-16, not as UTF-8",
        "save it again with the encoding UTF-8",
    )


@pytest.mark.parametrize(
    ("sign", "name"),
    [
        ("\0", "NUL"),
        ("\x01", "U+0001"),
        ("\x08", "U+0008"),
        ("\v", "U+000B"),
        ("\x0e", "U+000E"),
        ("\x1b", "U+001B"),
        ("\x1f", "U+001F"),
        ("\x7f", "U+007F"),
        ("\x80", "U+0080"),
        ("\x84", "U+0084"),
        ("\x86", "U+0086"),
        ("\x9f", "U+009F"),
        ("\ufffe", "U+FFFE"),
        ("\uffff", "U+FFFF"),
    ],
)
def test_an_invisible_sign_becomes_a_blank_and_is_named_at_its_line(sign: str, name: str) -> None:
    data = f"one\ntwo{sign}three\n".encode()
    assert read(data) == ("one\ntwo three\n", [(2, "control-character")])
    assert words(data) == [
        (
            f"an invisible control character ({name}) stands on this line",
            "delete the line and type it again",
        )
    ]


def test_the_same_invisible_sign_is_told_once_and_each_other_one_too() -> None:
    text, problems = read(b"a\x01\nb\x01\nc\x02\nd\x01\x02")
    assert text == "a \nb \nc \nd  "
    assert problems == [(1, "control-character"), (3, "control-character")]


@pytest.mark.parametrize("sign", ["\u00a0", "\u00a7", "\u00c2", "\ufffd", "\ufeff", "\u0085"])
def test_signs_next_to_the_invisible_ones_are_no_problem(sign: str) -> None:
    assert read(f"a{sign}b".encode()) == (f"a{sign}b", [])


def test_the_longest_file_is_read_and_one_byte_more_is_not() -> None:
    line = b"x" * 99 + b"\n"
    data = line * (LONGEST_FILE // 100)
    assert read(data) == (data.decode(), [])
    assert read(data + b"x") == ("", [(1, "too-large")])
    assert words(data + b"x")[0][0] == "the file is larger than 10 MB"


def test_the_longest_line_is_read_and_a_longer_one_is_left_out() -> None:
    longest = "y" * LONGEST_LINE
    assert read(f"a\n{longest}\nb".encode()) == (f"a\n{longest}\nb", [])
    text, problems = read(f"a\n{longest}y\nb\n{longest}zz".encode())
    assert text == "a\n\nb\n"
    assert problems == [(2, "too-large"), (4, "too-large")]
    assert "100,001 characters" in words(f"{longest}y".encode())[0][0]


@given(st.text(st.characters(blacklist_categories=["Cs", "Cc", "Cn"])))
def test_what_an_editor_saves_is_what_is_read(text: str) -> None:
    text = text.removeprefix("\ufeff")
    assert read(text.encode()) == (text, [])
    assert read(text.encode("utf-8-sig")) == (text, [])


@given(st.binary())
def test_any_bytes_become_text_without_signs_that_no_text_holds(data: bytes) -> None:
    text, problems = read(data)
    assert "\r" not in text and "\0" not in text
    assert all(1 <= line <= text.count("\n") + 1 for line, _ in problems)
