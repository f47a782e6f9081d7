"""Which links are safe, which pictures are the house's own."""

from __future__ import annotations

from pathlib import PurePosixPath

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.addresses import below, is_remote, is_safe_link, scheme_of


@pytest.mark.parametrize(
    ("address", "scheme"),
    [
        ("https://example.com", "https"),
        ("HTTPS://example.com", "https"),
        ("mailto:a@example.com", "mailto"),
        ("javascript:alert(1)", "javascript"),
        (" \tjava\nscript:alert(1)", "javascript"),
        ("\x01javascript:x", "javascript"),
        ("java\u200bscript:x", "javascript"),
        ("//example.com", "//"),
        ("\\\\example.com", "//"),
        ("/\\example.com", "//"),
        ("a/b.svg", ""),
        ("a/b:c.svg", ""),
        ("#part", ""),
        ("?q=a:b", ""),
        ("", ""),
    ],
)
def test_the_scheme_is_read_as_browsers_read_it(address: str, scheme: str) -> None:
    assert scheme_of(address) == scheme
    assert is_remote(address) is bool(scheme)


@pytest.mark.parametrize(
    "address", ["http://a", "https://a", "mailto:a@b", "a.md", "../b/", "#c", "a%20b.svg", "?q=1"]
)
def test_web_mail_and_relative_links_are_safe(address: str) -> None:
    assert is_safe_link(address)


@pytest.mark.parametrize(
    "address",
    [
        "javascript:alert(1)",
        "JaVaScRiPt:alert(1)",
        "java%0Ascript:alert(1)",
        "javascript%3Aalert(1)",
        "vbscript:x",
        "data:text/html,x",
        "file:///etc/passwd",
        "ftp://a",
        "tel:1",
        "blob:x",
        "//example.com",
    ],
)
def test_every_other_link_is_refused(address: str) -> None:
    assert not is_safe_link(address)


@pytest.mark.parametrize(
    ("folder", "address", "path"),
    [
        ("2026", "2026-014/a.svg", "2026/2026-014/a.svg"),
        ("2026", "./a.svg", "2026/a.svg"),
        ("2026", "../2025/a.svg", "2025/a.svg"),
        ("", "a.svg", "a.svg"),
        ("2026", "a%20b.svg?x#y", "2026/a b.svg"),
        ("2026", "../../a.svg", None),
        ("", "../a.svg", None),
        ("2026", "%2e%2e/%2e%2e/a.svg", None),
        ("2026", "/a.svg", None),
        ("2026", "..\\a.svg", None),
        ("2026", "C:/a.svg", None),
        ("2026", "https://example.com/a.svg", None),
        ("2026", "a\x00.svg", None),
        ("2026", "", None),
        ("2026", "..", None),
    ],
)
def test_a_path_is_followed_and_never_out_of_the_house(
    folder: str, address: str, path: str | None
) -> None:
    assert below(folder, address) == path


@given(st.text(alphabet="./a%2e5c\\", max_size=30))
def test_no_address_leads_out_of_the_house(address: str) -> None:
    path = below("2026/deep", address)
    assert path is None or ".." not in PurePosixPath(path).parts
    assert path is None or not path.startswith("/")
