"""Spoken text: sentences, running time, and captions that a reference reader takes as written.

Reference: webvtt-py, a reader of WebVTT files.
"""

from __future__ import annotations

import io
import re
from itertools import pairwise

import pytest
import webvtt
from hypothesis import given
from hypothesis import strategies as st

from kb.speaking import (
    LINE,
    LINES,
    WORDS_PER_MINUTE,
    Cue,
    Said,
    clock,
    count_words,
    cues,
    said,
    seconds,
    sentences,
)
from kb.speaking import webvtt as captions_file


def read(text: str) -> list[tuple[str, str, str]]:
    """Return start, end and text of every caption, as the reference reads them."""
    captions = webvtt.from_buffer(io.BytesIO(text.encode()), format="vtt")
    return [(c.start, c.end, c.text) for c in captions.captions]


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("", []),
        ("  ", []),
        ("One.", ["One."]),
        ("One. Two! Three? Four", ["One.", "Two!", "Three?", "Four"]),
        ("One.\nTwo.", ["One.", "Two."]),
        ("Torque 2.2 N m. Then stop.", ["Torque 2.2 N m.", "Then stop."]),
        ("See No. 4 first. Then go.", ["See No. 4 first.", "Then go."]),
        ("Use e.g. Water. Then dry.", ["Use e.g. Water.", "Then dry."]),
        ("It stays low. 2026 was wet.", ["It stays low.", "2026 was wet."]),
        ("no capital. follows here", ["no capital. follows here"]),
        ('He says "Stop." Then go.', ['He says "Stop."', "Then go."]),
    ],
)
def test_text_is_cut_into_sentences(text: str, expected: list[str]) -> None:
    assert sentences(text) == expected


@given(st.text(alphabet=st.sampled_from('abC .!?\n1"()'), max_size=80))
def test_sentences_lose_no_word(text: str) -> None:
    assert " ".join(sentences(text)).split() == text.split()


@pytest.mark.parametrize(
    ("text", "count"),
    [
        ("", 0),
        ("one", 1),
        ("one two", 2),
        ("one - two", 2),  # a dash is not said
        ("HR-310-4126", 1),
        ("2 × pump", 2),
        ("9 mm, then 12 N m", 6),
    ],
)
def test_words_are_counted_as_said(text: str, count: int) -> None:
    assert count_words(text) == count


@pytest.mark.parametrize(("words", "expected"), [(0, 0.0), (13, 6.0), (65, 30.0), (130, 60.0)])
def test_a_trainer_says_130_words_a_minute(words: int, expected: float) -> None:
    # common practice, no source
    assert WORDS_PER_MINUTE == 130
    assert seconds("word " * words) == pytest.approx(expected)
    assert said("word " * words).seconds == pytest.approx(expected)


@pytest.mark.parametrize(
    ("value", "expected"),
    [
        (0, "0:00"),
        (5, "0:05"),
        (59.6, "1:00"),
        (65, "1:05"),
        (600, "10:00"),
        (3599, "59:59"),
        (3600, "1:00:00"),
        (3725, "1:02:05"),
    ],
)
def test_the_clock_shows_minutes_and_seconds(value: float, expected: str) -> None:
    assert clock(value) == expected


# Captions


def test_captions_of_two_sentences_by_hand() -> None:
    script = [said("word " * 13), said("other " * 26)]  # 6 s and 12 s
    found = list(cues(script))
    assert found[0].start == 0.0
    assert [c.end for c in found if " ".join(c.lines).startswith("word")][-1] == pytest.approx(6.0)
    assert found[-1].end == pytest.approx(18.0)


def test_a_caption_is_a_time_range_and_its_text() -> None:
    text = captions_file([Cue(0.0, 1.5, ("One line", "and another")), Cue(3661.25, 3662.0, ("x",))])
    assert text == (
        "WEBVTT\n\n"
        "00:00:00.000 --> 00:00:01.500\nOne line\nand another\n\n"
        "01:01:01.250 --> 01:01:02.000\nx\n"
    )


def test_what_could_be_taken_for_marks_is_escaped() -> None:
    text = captions_file([Cue(0.0, 1.0, ("a < b & c --> d",))])
    assert text.endswith("\na &lt; b &amp; c --&gt; d\n")


def test_the_reference_reads_times_and_text_as_written() -> None:
    text = captions_file([Cue(0.0, 1.5, ("One line", "and another")), Cue(1.5, 62.0, ("Two",))])
    assert read(text) == [
        ("00:00:00.000", "00:00:01.500", "One line\nand another"),
        ("00:00:01.500", "00:01:02.000", "Two"),
    ]


def test_silence_and_nothing_give_no_caption() -> None:
    assert list(cues([])) == []
    assert list(cues([Said("", 5.0), Said("Here.", 1.0)])) == [Cue(5.0, 6.0, ("Here.",))]
    assert captions_file([]) == "WEBVTT\n"


SCRIPT = st.lists(
    st.builds(
        Said,
        st.lists(st.text(alphabet="abcXYZ.,-<&>0", min_size=1, max_size=9), max_size=30).map(
            " ".join
        ),
        st.floats(0.5, 90),
    ),
    max_size=8,
)


@given(SCRIPT)
def test_captions_follow_each_other_and_fit_on_two_short_lines(script: list[Said]) -> None:
    found = list(cues(script))
    for cue in found:
        assert 0 <= cue.start < cue.end
        assert 1 <= len(cue.lines) <= LINES
        assert all(len(line) <= LINE for line in cue.lines)
    for before, after in pairwise(found):
        assert before.end <= after.start + 1e-9
    words = [word for text, _ in script for word in text.split()]
    assert [word for cue in found for line in cue.lines for word in line.split()] == words
    assert all(cue.end <= sum(s.seconds for s in script) + 1e-6 for cue in found)


@given(SCRIPT)
def test_the_reference_reads_every_caption(script: list[Said]) -> None:
    found = list(cues(script))
    text = captions_file(found)
    assert text.startswith("WEBVTT\n")
    for line in text.splitlines():
        assert line.count("-->") == len(re.findall(r"^\d\d:\d\d:\d\d\.\d{3} --> \d\d", line))
    assert len(read(text)) == len(found)
