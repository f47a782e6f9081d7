"""Word forms in the browser are those of the desk (Snowball English 3.1.1, snowballstemmer)."""

from __future__ import annotations

import base64
import re
from pathlib import Path

from playwright.sync_api import Browser
from snowballstemmer.english_stemmer import EnglishStemmer

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
    stemmer = EnglishStemmer()
    assert len(asked) > 30_000
    different = [
        (word, form, here)
        for word, form in zip(asked, found, strict=True)
        if form != (here := stemmer.stemWord(word))
    ]
    assert different == []
