"""Word forms of desk and browser are those of Snowball English 3.1.1 (snowballstemmer)."""

from __future__ import annotations

import base64
import re
from pathlib import Path

from hypothesis import given
from hypothesis import strategies as st
from playwright.sync_api import Browser
from snowballstemmer.english_stemmer import EnglishStemmer
from Stemmer import Stemmer

ROOT = Path(__file__).resolve().parent.parent
ENDINGS = (
    "", "s", "'s", "es", "ies", "ed", "edly", "ing", "ingly", "eed", "ly", "li", "ness", "fulness",
    "ization", "ational", "ative", "alize", "icate", "iciti", "ogist", "ement", "ion", "y", "e",
)  # fmt: skip


def words() -> list[str]:
    """Return words of the demo house and of the rings, some with every ending the rules name."""
    texts = [path.read_text("utf-8") for path in sorted((ROOT / "bulletins").glob("20*/*.md"))]
    texts.append((ROOT / "kb" / "data" / "words.json").read_text("utf-8"))
    written = sorted({word for text in texts for word in re.findall(r"[a-z]{2,12}", text.lower())})
    return written + [word + ending for word in written[::3] for ending in ENDINGS]


def test_word_forms_in_the_browser_are_those_of_the_desk(browser: Browser) -> None:
    source = (ROOT / "site" / "core" / "stemmer.js").read_bytes()
    module = "data:text/javascript;base64," + base64.b64encode(source).decode()
    asked = words()
    page = browser.new_page()
    found = page.evaluate(
        "async ([module, words]) => {"
        " const { stemWord } = await import(module); return words.map(stemWord); }",
        [module, asked],
    )
    page.close()
    assert len(asked) > 30_000
    desk = Stemmer("english").stemWords(asked)
    assert [pair for pair in zip(asked, found, desk, strict=True) if pair[1] != pair[2]] == []


def test_word_forms_of_the_desk_are_those_of_the_reference() -> None:
    desk, reference = Stemmer("english"), EnglishStemmer()
    different = [w for w in words() if desk.stemWord(w) != reference.stemWord(w)]
    assert different == []


@given(st.text("abcdeilnorstuy'é", min_size=1, max_size=12))
def test_any_word_has_the_form_of_the_reference(word: str) -> None:
    assert Stemmer("english").stemWord(word) == EnglishStemmer().stemWord(word)
