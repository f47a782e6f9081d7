"""How fast the desk answers any-word questions beside SQLite's FTS5: see below.

    python tests/bench/desk_ratio.py HOUSE [QUESTIONS] [SEED]

Both hold the same text: FTS5 (SQLite's own full-text search) gets what ``kb find`` searches, field
by field, with word forms (its ``porter``) as ours. Both are asked the same words in one process,
any of which is enough, best ten first by BM25. Words that count for nothing (the, of) are left out
for both. Questions of 1 to 6 words are drawn from symptoms, titles and bodies; the garbage
collector is set as `kb` sets it. Prints the median and the 95th percentile of both, in CPU time,
over all questions (the best of three rounds for each question) and over the first round alone.
"""

from __future__ import annotations

import gc
import sqlite3
import sys
import tempfile
import time
from collections.abc import Callable, Sequence
from datetime import date
from pathlib import Path
from random import Random
from statistics import median, quantiles

from kb import derived
from kb.desk import Desk
from kb.fulltext import FullText
from kb.wording import Wording

_ROUNDS = 3
_LIMIT = 10
_TODAY = date(2026, 11, 25)
_FIND = f"SELECT number FROM text WHERE text MATCH ? ORDER BY rank LIMIT {_LIMIT}"


def texts(desk: Desk, index: FullText) -> list[tuple[str, str, str]]:
    """Return number, title and symptoms, and all words in order, of every bulletin searched."""
    stored = [index.stored(document) for document in index.documents()]
    cards = desk.lookup.cards(each.number for each in stored)
    asked = "SELECT bulletin, symptom FROM bulletin_symptoms, json_each(?) WHERE bulletin = value"
    symptoms: dict[str, list[str]] = {}
    for number, symptom in desk.lookup.listed(asked, cards):
        symptoms.setdefault(number, []).append(symptom)
    return [
        (
            each.number,
            "\n".join([cards[each.number].title, *symptoms.get(each.number, ())]),
            each.text.replace(" | ", "\n"),
        )
        for each in stored
    ]


def fts5(path: Path, rows: Sequence[tuple[str, str, str]]) -> sqlite3.Connection:
    """Write the text of all bulletins into an FTS5 table."""
    connection = sqlite3.connect(path)
    connection.execute(
        "CREATE VIRTUAL TABLE text USING fts5(number UNINDEXED, words, tokenize='porter unicode61')"
    )
    connection.executemany(
        "INSERT INTO text VALUES (?, ?)", ((number, words) for number, _, words in rows)
    )
    connection.execute("INSERT INTO text(text) VALUES ('optimize')")
    connection.commit()
    return connection


def questions(
    rows: Sequence[tuple[str, str, str]], wording: Wording, number: int, seed: int
) -> list[list[str]]:
    """Draw questions of 1 to 6 words that count, each from one line or one body."""
    rng = Random(seed)
    drawn: list[list[str]] = []
    while len(drawn) < number:
        _, heads, body = rng.choice(rows)
        source = rng.choice((rng.choice(heads.split("\n")), body))
        words = sorted({word for word in wording.words(source) if word.isalpha()})
        if words:
            drawn.append(rng.sample(words, min(len(words), rng.randint(1, 6))))
    return drawn


def times(ask: Callable[[list[str]], object], asked: Sequence[list[str]]) -> list[list[float]]:
    """Return the milliseconds of CPU that each question took, round by round."""
    rounds: list[list[float]] = []
    for _ in range(_ROUNDS):
        taken = []
        for words in asked:
            start = time.process_time()
            ask(words)
            taken.append((time.process_time() - start) * 1000)
        rounds.append(taken)
    return rounds


def show(name: str, taken: Sequence[float]) -> tuple[float, float]:
    """Print and return the median and the 95th percentile."""
    middle, high = median(taken), quantiles(taken, n=20)[-1]
    print(f"{name:24}{middle:10.2f}{high:10.2f}{max(taken):10.2f}")
    return middle, high


def main(house: str, number: str = "400", seed: str = "1") -> None:
    """Ask both and print what they took."""
    gc.set_threshold(100_000, 50, 50)
    desk = Desk(Path(house), _TODAY, print)
    edition = derived.current(Path(house))
    assert edition
    rows = texts(desk, FullText(edition.index))
    asked = questions(rows, desk.wording, int(number), int(seed))
    with tempfile.TemporaryDirectory() as folder:
        connection = fts5(Path(folder) / "text.sqlite", rows)
        theirs = times(
            lambda words: connection.execute(
                _FIND, (" OR ".join(f'"{w}"' for w in words),)
            ).fetchall(),
            asked,
        )
        connection.close()
    ours = times(lambda words: desk.finder.find(" ".join(words) + " ", limit=_LIMIT), asked)
    print(
        f"{len(rows)} bulletins, {len(asked)} questions{'median':>8}{'95 %':>10}{'most':>10} (ms)"
    )
    for name, pick in (("first round", lambda rounds: rounds[0]), ("best of three", best)):
        print(name)
        their, our = show("  FTS5", pick(theirs)), show("  kb find", pick(ours))
        print(f"{'  ratio':24}{our[0] / their[0]:10.2f}{our[1] / their[1]:10.2f}")


def best(rounds: Sequence[Sequence[float]]) -> list[float]:
    """Return the least time of each question over the rounds."""
    return [min(taken) for taken in zip(*rounds, strict=True)]


if __name__ == "__main__":
    main(*sys.argv[1:])
