"""QR codes of the pages' addresses, drawn as SVG: the way back from paper.

Encoding one takes longer than the rest of a page. Yet the codes of one length and mask are linear
(ISO/IEC 18004: Reed-Solomon words, placed and masked by exclusive or): a bit of the text changes
the same squares whatever else stands in it. So one address of each length is encoded, then each
bit in which another differs, once; from these the codes of all other addresses follow.
"""

from __future__ import annotations

import re

import segno

_MASK = 2  # every mask is read alike; trying all eight would take eight times as long
_BORDER = 2
_RUNS = re.compile(rb"(\x00*)(\x01+)")  # light squares of a row, and the dark ones behind them


class _Strokes(dict[tuple[bytes, bytes], str]):
    """What is drawn for a run of light and dark squares, from the end of the dark ones before."""

    def __missing__(self, run: tuple[bytes, bytes]) -> str:
        light, dark = run
        stroke = self[run] = f"{len(light)} 0h{len(dark)}"
        return stroke


_STROKES = _Strokes()


class Codes:
    """Draws QR codes of level M; what encodings have in common is kept."""

    def __init__(self) -> None:
        self._first: dict[int, tuple[str, int]] = {}
        self._changes: dict[tuple[int, int, int], int] = {}
        self._widths: dict[int, int] = {}

    def drawing(self, text: str) -> str:
        """Return the code for *text* as an SVG drawing without any style; "" for too long a one."""
        try:
            squares, width = self._squares(text)
        except segno.DataOverflowError:
            return ""
        return _drawn(squares, width)

    def _squares(self, text: str) -> tuple[bytes, int]:
        """Return a byte for each square, 1 for a dark one, row by row, and how many a row has."""
        if not text.isascii():
            code = segno.make(text, error="m", micro=False, mask=_MASK)
            return b"".join(code.matrix), len(code.matrix)
        size = len(text)
        if size not in self._first:
            self._first[size] = (text, self._encoded(text))
        first, squares = self._first[size]
        for place, (one, other) in enumerate(zip(first, text, strict=True)):
            if one != other:
                squares ^= self._change(first, place, ord(one) ^ ord(other))
        width = self._widths[size]
        return squares.to_bytes(width * width, "big"), width

    def _change(self, first: str, place: int, bits: int) -> int:
        """Return the squares that turn when *bits* of the character at *place* do."""
        turned = 0
        for bit in (1 << at for at in range(7) if bits >> at & 1):
            key = (len(first), place, bit)
            if key not in self._changes:
                other = first[:place] + chr(ord(first[place]) ^ bit) + first[place + 1 :]
                self._changes[key] = self._encoded(other) ^ self._first[len(first)][1]
            turned ^= self._changes[key]
        return turned

    def _encoded(self, text: str) -> int:
        code = segno.make_qr(text, error="m", mode="byte", mask=_MASK)
        self._widths[len(text)] = len(code.matrix)
        return int.from_bytes(b"".join(code.matrix), "big")


def _drawn(squares: bytes, width: int) -> str:
    """Return one path along the dark squares, each stroke begun where the one before ended."""
    strokes: list[str] = []
    x, drawn = -_BORDER, 0
    for row in range(width):
        begin, end = row * width, (row + 1) * width
        (light, dark), *others = _RUNS.findall(squares, begin, end) or [(b"", b"")]
        if dark:
            down = row - drawn if strokes else f"{_BORDER}.5"
            strokes.append(f"{len(light) - x} {down}h{len(dark)}")
            strokes += map(_STROKES.__getitem__, others)
            x, drawn = squares.rindex(1, begin, end) + 1 - begin, row
    side = width + 2 * _BORDER
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {side} {side}" class="qr">'
        f'<path class="qrline" stroke="#000" d="M{"m".join(strokes)}"/></svg>'
    )
