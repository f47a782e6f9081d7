"""QR codes as drawings: every one is the code that segno encodes (ISO/IEC 18004)."""

from __future__ import annotations

import io

import pytest
import segno
from hypothesis import given, settings
from hypothesis import strategies as st

from kb.pages.scan import Codes


def by_segno(text: str) -> str:
    code = segno.make(text, error="m", micro=False, mask=2)
    out = io.BytesIO()
    code.save(out, kind="svg", xmldecl=False, svgns=True, omitsize=True, border=2, svgclass="qr")
    return out.getvalue().decode().strip()


# Capacities as bisected with segno: byte mode, level M: version 3 holds 42 bytes, version 4 62. A
# version measures 17 + 4 x its number (ISO/IEC 18004); our border adds two on each side.
@pytest.mark.parametrize(("length", "side"), [(42, 33), (43, 37), (62, 37), (63, 41)])
def test_the_code_has_the_size_that_the_standard_gives(length: int, side: int) -> None:
    assert f'viewBox="0 0 {side} {side}"' in Codes().drawing("x" * length)


def test_an_address_too_long_for_any_code_has_none() -> None:
    codes = Codes()
    assert codes.drawing("x" * 9000) == ""
    assert codes.drawing("x" * 60) != ""


addresses = st.text("abcxyz0123456789-./~%", min_size=1, max_size=90).map("https://".__add__)


@settings(deadline=None)
@given(st.lists(st.one_of(addresses, st.just("https://straße.example/ä/")), max_size=6))
def test_whatever_was_drawn_before_a_code_is_the_one_that_the_library_makes(
    texts: list[str],
) -> None:
    codes = Codes()
    for text in texts:
        assert codes.drawing(text) == by_segno(text)


@settings(deadline=None, max_examples=30)
@given(
    st.integers(9, 70).flatmap(
        lambda size: st.lists(
            st.text(st.characters(codec="ascii"), min_size=size, max_size=size).map(
                lambda text: "a" + text
            ),
            min_size=2,
            max_size=5,
        )
    )
)
def test_addresses_of_one_length_follow_from_the_first(texts: list[str]) -> None:
    codes = Codes()
    assert [codes.drawing(text) for text in texts] == [by_segno(text) for text in texts]
