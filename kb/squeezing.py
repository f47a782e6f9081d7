"""Copies of a site's files packed ahead, which web hosts hand out in place of packing each time.

Beside `index.html` lie `index.html.br` (Brotli, RFC 7932) and `index.html.gz` (gzip, RFC 1952);
`kb.servers` tells a host to look for them. The same content gives the same bytes: no name, no time.
"""

from __future__ import annotations

import gzip
from collections.abc import Iterator

import brotli

from kb.pages.page import Asset

SUFFIXES = (".html", ".css", ".js", ".json", ".xml", ".svg", ".txt", ".csv", ".webmanifest")
SMALLEST = 1024  # what is smaller than this travels in one or two packets, packed or not
# A page packs as fast at 8 as with gzip. At 11 it takes 40 times as long for an eighth less, which
# pays for what every visitor fetches. (9 takes long too, and gains nothing on files so small.)
_QUALITY, _FINEST = 8, 11
_EVERYBODYS = ("assets/", "index.html", "sw.js")
_SYSTEM = 9  # the byte of a gzip head that tells on which system it was made
_UNKNOWN = b"\xff"


def copies(path: str, content: bytes) -> Iterator[Asset]:
    """Yield the packed copies of a file of the site; none of a file that packing does not serve.

    Pictures and pieces of data are packed already. A copy that is no smaller is left out.
    """
    if len(content) < SMALLEST or not path.endswith(SUFFIXES):
        return
    quality = _FINEST if path.startswith(_EVERYBODYS) else _QUALITY
    for suffix, packed in (".br", brotli.compress(content, quality=quality)), (".gz", _gz(content)):
        if len(packed) < len(content):
            yield Asset(path + suffix, packed)


def _gz(content: bytes) -> bytes:
    packed = gzip.compress(content, 9, mtime=0)
    return packed[:_SYSTEM] + _UNKNOWN + packed[_SYSTEM + 1 :]
