"""The full-text index: what was written is read back, and what is broken says so."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from kb.entries import LEVELS, Entry
from kb.errors import KbError
from kb.fulltext import FullText, build

PUMP = Entry(
    number="2026-014",
    terms={"pump": 4.5, "hum": 0.25, "~7": 1.0, "=dishwasher": 1.0},
    words={"pumps": "pump", "hums": "hum", "humming": "hum"},
    lines=("pump hum ~7", "hum"),
    text="pumps hums | humming",
    codes={"E21": "front", "F21": "body"},
    parts={"HR3104126": 0.8},
)
DOOR = Entry(
    number="2026-015",
    terms={"door": 2.0, "pump": 0.125},
    words={"door": "door", "pump": "pump", "türe": "türe"},
    lines=("door",),
    text="door pump türe",
    codes={"E21": "front"},
    parts={},
)


@pytest.fixture
def index(tmp_path: Path) -> FullText:
    """Return the index of two entries."""
    build(tmp_path / "index", [PUMP, DOOR])
    return FullText(tmp_path / "index")


def by_number(index: FullText, found: Mapping[int, float]) -> dict[str, float]:
    """Return postings by the number of the bulletin."""
    return {index.stored(document).number: weight for document, weight in found.items()}


def test_terms_keep_their_weights(index: FullText) -> None:
    assert by_number(index, index.postings("pump")) == {"2026-014": 4.5, "2026-015": 0.125}
    assert by_number(index, index.postings("~7")) == {"2026-014": 1.0}
    assert by_number(index, index.postings("=dishwasher")) == {"2026-014": 1.0}


def test_codes_in_front_weigh_twice_those_in_the_body(index: FullText) -> None:
    assert by_number(index, index.postings("E21", "codes")) == {"2026-014": 2, "2026-015": 2}
    assert by_number(index, index.postings("F21", "codes")) == {"2026-014": 1}


def test_parts_keep_their_shares(index: FullText) -> None:
    found = by_number(index, index.postings("HR3104126", "parts"))
    assert found == {"2026-014": pytest.approx(0.8)}


@pytest.mark.parametrize("term", ["", "pum", "pumps", "PUMP", "\x00", "ﷺ", "p" * 70_000])
def test_a_term_that_nothing_holds_gives_nothing(index: FullText, term: str) -> None:
    assert index.postings(term) == {}
    assert index.frequency(term) == 0


def test_a_bulletin_is_found_by_its_number(index: FullText) -> None:
    for number in ("2026-014", "2026-015"):
        document = index.document(number)
        assert document is not None
        assert index.stored(document).number == number
    assert index.document("2026-01") is None


def test_postings_that_were_let_go_are_read_again(
    index: FullText, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("kb.fulltext._MOST_KEPT", 2)
    for _ in range(3):
        for term in ("pump", "door", "hum"):
            assert len(index.postings(term)) == index.frequency(term)


def test_a_term_that_very_many_bulletins_hold_is_read_whole(tmp_path: Path) -> None:
    written = [
        Entry(f"{n:05}", {"pump": LEVELS[n % 25]}, {}, ("",), "", {}, {}) for n in range(500)
    ]
    build(tmp_path / "index", written)
    held = FullText(tmp_path / "index").postings("pump")
    assert held == {n: LEVELS[n % 25] for n in range(500)}


def test_frequency_counts_bulletins(index: FullText) -> None:
    assert [index.frequency(term) for term in ("pump", "door", "hum")] == [2, 1, 1]
    assert index.count == 2


def test_words_come_as_written_and_in_order(index: FullText) -> None:
    assert list(index.words()) == ["door", "humming", "hums", "pump", "pumps", "türe"]


@pytest.mark.parametrize(
    ("prefix", "words"),
    [
        ("hum", ["humming", "hums"]),
        ("hums", ["hums"]),
        ("tü", ["türe"]),
        ("x", []),
        ("", ["door", "humming", "hums", "pump", "pumps", "türe"]),
    ],
)
def test_words_starting_with_what_is_typed(index: FullText, prefix: str, words: list[str]) -> None:
    assert index.words_starting(prefix) == words


def test_lines_and_text_are_kept_whole(index: FullText) -> None:
    kept = {index.stored(document).number: document for document in index.documents()}
    assert index.lines(kept["2026-014"]) == PUMP.lines
    assert index.text(kept["2026-015"]) == DOOR.text


TERMS = st.dictionaries(
    st.text(st.characters(codec="utf-8", exclude_characters="\x00"), min_size=1, max_size=6),
    st.integers(1, 4000).map(lambda n: n / 64),
    max_size=5,
)


@settings(
    max_examples=15, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(st.lists(TERMS, max_size=4))
def test_any_weights_are_read_back_as_written(
    tmp_path_factory: pytest.TempPathFactory, weights: list[dict[str, float]]
) -> None:
    folder = tmp_path_factory.mktemp("index") / "index"
    written = [
        Entry(str(number), terms, dict.fromkeys(terms, ""), ("",), "", {}, {})
        for number, terms in enumerate(weights)
    ]
    build(folder, written)
    index = FullText(folder)
    assert index.count == len(written)
    for term in {term for terms in weights for term in terms}:
        expected = {e.number: e.terms[term] for e in written if term in e.terms}
        assert by_number(index, index.postings(term)) == expected
        assert index.frequency(term) == len(expected)


def test_a_house_without_bulletins_has_an_index_too(tmp_path: Path) -> None:
    build(tmp_path / "index", [])
    index = FullText(tmp_path / "index")
    assert index.count == 0
    assert list(index.words()) == []
    assert index.postings("pump") == {}


def test_two_builds_answer_alike(tmp_path: Path) -> None:
    for name in ("one", "other"):
        build(tmp_path / name, [PUMP, DOOR])
    one, other = FullText(tmp_path / "one"), FullText(tmp_path / "other")
    for term in PUMP.terms.keys() | DOOR.terms.keys():
        assert one.postings(term) == other.postings(term)
    assert list(one.words()) == list(other.words())


def test_no_index_says_what_to_do(tmp_path: Path) -> None:
    with pytest.raises(KbError) as raised:
        FullText(tmp_path / "nowhere")
    assert "publish" in raised.value.remedy


# Whoosh leaves the file that it could not read to the garbage collector.
@pytest.mark.filterwarnings("ignore::ResourceWarning")
@pytest.mark.filterwarnings("ignore::pytest.PytestUnraisableExceptionWarning")
@pytest.mark.parametrize("content", [b"", b"garbage", b"\x80\x04K\x01.", b"\x00" * 500])
@pytest.mark.parametrize("which", ["*.toc", "*.trm", "*.pst", "*.col", "sizes.json"])
def test_a_broken_index_says_that_it_does_not_open(
    tmp_path: Path, which: str, content: bytes
) -> None:
    build(tmp_path / "index", [PUMP])
    for path in (tmp_path / "index").glob(which):
        path.write_bytes(content)
    with pytest.raises(KbError, match="does not open"):
        FullText(tmp_path / "index")


@pytest.mark.parametrize("which", ["*.toc", "*.trm", "*.pst", "*.col", "sizes.json"])
def test_an_index_cut_short_says_that_it_does_not_open(tmp_path: Path, which: str) -> None:
    build(tmp_path / "index", [PUMP, DOOR])
    (path,) = (tmp_path / "index").glob(which)
    path.write_bytes(path.read_bytes()[: path.stat().st_size // 2])
    with pytest.raises(KbError, match="does not open"):
        FullText(tmp_path / "index")
