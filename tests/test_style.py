"""The look, as far as arithmetic can judge it: contrast, targets, motion, nothing from outside."""

from __future__ import annotations

import colorsys
import re
from pathlib import Path

import pytest

STYLE = (Path(__file__).resolve().parent.parent / "site" / "style.css").read_text("utf-8")


def colours(part: str) -> dict[str, str]:
    return dict(re.findall(r"--([a-z]+): (#[0-9a-f]{6});", part))


LIGHT = colours(STYLE.partition(":root {")[2].partition("}")[0])
DARK = LIGHT | colours(STYLE.partition("(prefers-color-scheme: dark)")[2].partition("}")[0])


def luminance(colour: str) -> float:
    # WCAG 2.2, "relative luminance": the threshold is 0.04045 (w3c/wcag).
    parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    red, green, blue = (
        part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts
    )
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


@pytest.mark.parametrize(
    ("one", "other", "ratio"),
    [
        ("#000000", "#ffffff", 21.0),
        ("#777777", "#ffffff", 4.4781),
        ("#767676", "#ffffff", 4.5422),
        ("#ff0000", "#ffffff", 3.9985),
        ("#008000", "#ffffff", 5.1374),
        ("#ffa500", "#000000", 10.634),
    ],
)
def test_contrast_is_reckoned_as_the_published_values_say(
    one: str, other: str, ratio: float
) -> None:
    # Values of wcag-contrast-ratio, recomputed independently.
    assert contrast(one, other) == pytest.approx(ratio, abs=0.001)


PAIRS = [(text, ground) for text in ("ink", "soft", "accent") for ground in ("paper", "tint")]


@pytest.mark.parametrize("scheme", [LIGHT, DARK], ids=["light", "dark"])
@pytest.mark.parametrize(("text", "ground"), PAIRS)
def test_text_stands_out_seven_to_one(scheme: dict[str, str], text: str, ground: str) -> None:
    # WCAG 2.2 success criterion 1.4.6 (AAA): 7:1 for text.
    assert contrast(scheme[text], scheme[ground]) >= 7


@pytest.mark.parametrize("scheme", [LIGHT, DARK], ids=["light", "dark"])
def test_lines_that_carry_meaning_stand_out_three_to_one(scheme: dict[str, str]) -> None:
    # WCAG 2.2 success criterion 1.4.11 (AA): 3:1 for what is needed to understand.
    assert contrast(scheme["rule"], scheme["paper"]) >= 3


def test_white_on_the_band_stands_out() -> None:
    assert contrast("#ffffff", LIGHT["band"]) >= 7
    assert contrast("#ffffff", DARK["band"]) >= 7


# Colours of the signal words: ANSI Z535 as told by electromark.com: danger red, warning orange,
# caution yellow, notice blue.
SIGNALS = [
    ("danger", "#ffffff", (330, 15)),
    ("warning", "#000000", (20, 42)),
    ("caution", "#000000", (43, 65)),
    ("notice", "#ffffff", (200, 240)),
]


def hue(colour: str) -> float:
    parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    return colorsys.rgb_to_hsv(*parts)[0] * 360


@pytest.mark.parametrize(("word", "text", "between"), SIGNALS)
def test_signal_words_have_their_published_colour_and_stand_out(
    word: str, text: str, between: tuple[int, int]
) -> None:
    low, high = between
    found = hue(LIGHT[word])
    assert low <= found <= high if low < high else found >= low or found <= high
    assert contrast(LIGHT[word], text) >= 7
    assert DARK[word] == LIGHT[word]


def test_safety_colours_are_used_for_hazards_alone() -> None:
    for rule in re.findall(r"([^{}]+)\{([^{}]*var\(--(?:danger|warning|caution|notice)\)[^{}]*)\}",
                           STYLE):  # fmt: skip
        assert ".panel." in rule[0], rule[0]


def test_the_style_sheet_fetches_nothing() -> None:
    assert "url(" not in STYLE
    assert "@import" not in STYLE
    assert "@font-face" not in STYLE


@pytest.mark.parametrize(
    "asked",
    [
        "prefers-color-scheme: dark",
        "prefers-reduced-motion",
        "forced-colors: active",
        "@media print",
        ":focus-visible",
        "overflow-wrap",
    ],
)
def test_readers_wishes_are_honoured(asked: str) -> None:
    assert asked in STYLE


def test_motion_is_only_for_those_who_do_not_mind() -> None:
    calm = STYLE.partition("@media (prefers-reduced-motion: no-preference)")[2].partition("\n")[0]
    moving = re.findall(r"scroll-behavior|transition:|animation:", STYLE)
    assert moving == re.findall(r"scroll-behavior|transition:|animation:", calm)
