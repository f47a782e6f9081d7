"""Copies packed ahead: which files have them, that they unpack to the file and stay the same.

Sources: gzip file format RFC 1952 (section 2.3.1), Brotli RFC 7932. The unpackers of Python's gzip
and of the Brotli library are the judges; zlib's own header is not taken on trust.
"""

from __future__ import annotations

import gzip
import random
from pathlib import Path

import brotli
import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.squeezing import SMALLEST, SUFFIXES, copies

TEXT = b"<p>Drain pump hums but moves no water after a cold night.</p>\n" * 40


def packed(path: str, content: bytes) -> dict[str, bytes]:
    return {asset.path: asset.content for asset in copies(path, content)}


@pytest.mark.parametrize("suffix", SUFFIXES)
def test_text_of_every_sort_has_both_copies_beside_it(suffix: str) -> None:
    assert list(packed(f"a/b{suffix}", TEXT)) == [f"a/b{suffix}.br", f"a/b{suffix}.gz"]


@pytest.mark.parametrize(
    "path", ["data/0290cc2aeb.bin", "icon-192.png", "a.jpg", "a.webp", "a.pdf", "a.gz", "a.html.br"]
)
def test_what_is_packed_already_has_no_copy(path: str) -> None:
    assert packed(path, TEXT) == {}


def test_a_small_file_has_no_copy() -> None:
    assert packed("index.html", TEXT[: SMALLEST - 1]) == {}
    assert packed("index.html", TEXT[:SMALLEST])


def test_a_file_that_does_not_shrink_has_no_copy() -> None:
    assert packed("noise.txt", random.Random(7).randbytes(5000)) == {}


@given(st.text(min_size=1), st.integers(1, 400), st.sampled_from(["index.html", "codes/E21.html"]))
def test_each_copy_unpacks_to_the_file_and_is_smaller(words: str, times: int, path: str) -> None:
    content = (words * times).encode("utf-8", "replace")
    made = packed(path, content)
    for name, data in made.items():
        unpack = brotli.decompress if name.endswith(".br") else gzip.decompress
        assert unpack(data) == content
        assert len(data) < len(content)


def test_a_gzip_copy_tells_neither_name_nor_time_nor_system() -> None:
    data = packed("index.html", TEXT)["index.html.gz"]
    # RFC 1952, 2.3.1: ID1 ID2, CM 8 (deflate), FLG 0 (no name), MTIME 0, XFL 2 (slowest), OS 255
    assert data[:10] == b"\x1f\x8b\x08\x00\x00\x00\x00\x00\x02\xff"


def test_what_every_visitor_fetches_is_packed_tightest() -> None:
    style = (Path(__file__).resolve().parent.parent / "site" / "style.css").read_bytes()
    everybodys = packed("assets/style.9b3a412d65.css", style)["assets/style.9b3a412d65.css.br"]
    others = packed("bulletins/2026-014/style.css", style)["bulletins/2026-014/style.css.br"]
    assert len(everybodys) < len(others) < len(style)


def test_the_same_content_gives_the_same_copies_under_every_name() -> None:
    one, other = packed("models/TD45A/index.html", TEXT), packed("models/TD45B/index.html", TEXT)
    assert list(one.values()) == list(other.values())
