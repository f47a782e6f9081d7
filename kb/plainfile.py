"""Bytes of a file made text, with the lines that an editor shows.

A byte-order mark is dropped; CRLF and a lone CR end a line as LF does. Nothing else starts a line:
not a form feed, and not the separators U+0085, U+2028 and U+2029.
"""

from __future__ import annotations

import re

from kb.faults import Faults

LONGEST_FILE = 10_000_000
LONGEST_TABLE = 100_000_000  # a large maker has some 200,000 part numbers, at 60 to 100 bytes each
LONGEST_LINE = 100_000

# Control characters that no text file holds; tab, line feed and form feed are text.
_CONTROL = re.compile(r"[\x00-\x08\x0b\x0e-\x1f\x7f-\x84\x86-\x9f\ufffe\uffff]")
_CONTROL_BYTES = bytes(c for c in range(32) if c not in b"\t\n\r\f") + b"\x7f"


def decode(data: bytes, faults: Faults, longest: int = LONGEST_FILE) -> str:
    """Return the text of a file; what cannot be read becomes a blank or U+FFFD and a problem.

    A file of more than *longest* bytes is not read.
    """
    if len(data) > longest:
        faults.add(
            1,
            "too-large",
            f"the file is larger than {longest // 1_000_000} MB",
            "split it, and keep pictures in files of their own",
        )
        return ""
    text = _ends(_utf8(data, faults))
    if _may_hold_controls(data) and _CONTROL.search(text):
        text = _without_controls(text, faults)
    if len(text) > LONGEST_LINE:
        text = _without_long_lines(text, faults)
    return text


def _may_hold_controls(data: bytes) -> bool:
    """Tell, much quicker than a search in the text can, whether that search is worth it."""
    plain = len(data.translate(None, _CONTROL_BYTES)) == len(data)
    return not plain or b"\xc2" in data or b"\xef\xbf" in data


def _utf8(data: bytes, faults: Faults) -> str:
    try:
        return data.decode().removeprefix("\ufeff")
    except UnicodeDecodeError as trouble:
        if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
            faults.add(
                1,
                "encoding",
                "the file is saved as UTF-16, not as UTF-8",
                "save it again with the encoding UTF-8",
            )
            return ""
        before = _ends(data[: trouble.start].decode("utf-8-sig", "replace"))
        faults.add(
            before.count("\n") + 1,
            "encoding",
            f"a character on this line is not UTF-8 (byte {data[trouble.start]:02X} hex)",
            "type the character again and save the file with the encoding UTF-8",
        )
        return data.decode("utf-8-sig", "replace")


def _ends(text: str) -> str:
    return text.replace("\r\n", "\n").replace("\r", "\n") if "\r" in text else text


def _without_controls(text: str, faults: Faults) -> str:
    told: set[str] = set()
    for found in _CONTROL.finditer(text):
        sign = found[0]
        if sign not in told:
            told.add(sign)
            name = "NUL" if sign == "\0" else f"U+{ord(sign):04X}"
            faults.add(
                text.count("\n", 0, found.start()) + 1,
                "control-character",
                f"an invisible control character ({name}) stands on this line",
                "delete the line and type it again",
            )
    return _CONTROL.sub(" ", text)


def _without_long_lines(text: str, faults: Faults) -> str:
    lines = text.split("\n")
    for at, line in enumerate(lines):
        if len(line) > LONGEST_LINE:
            faults.add(
                at + 1,
                "too-large",
                f"this line is {len(line):,} characters long",
                "break it into lines of reading length; keep pictures in files of their own",
            )
            lines[at] = ""
    return "\n".join(lines)
