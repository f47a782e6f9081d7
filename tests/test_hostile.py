"""Files made to hurt: each ends in a message at its line, soon and in little memory."""

from __future__ import annotations

import os
import random
import resource
import time
import tracemalloc
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kb.bulletin import read_bulletin
from kb.faults import Faults
from kb.house import read_house
from kb.plainfile import decode
from tests.conftest import SOUND_BULLETIN, MakeHouse

SECONDS = 2.0
BYTES = 300 * 2**20

HEAD = SOUND_BULLETIN.split("---\n")[1]
RICH = SOUND_BULLETIN.replace(
    "codes: [E21]\n",
    'codes: [E21]\nsummary: "It hums: ice"\nhazards:\n  - electricity\nchecks:\n'
    "  - cause: 'frozen'\n    likelihood: 50 %\n    last: yes\nparts:\n"
    "  - {number: HR-1, quantity: 2, note: both}\nexcept: {plant: K}\nx-own: {a: [1]}\n",
)


def with_key(line: str) -> bytes:
    """Return a sound bulletin with one more line of front matter, line 11."""
    return f"---\n{HEAD}{line}\n---\nText.\n".encode()


def laughs() -> str:
    rows = ["x-a: &a [lol, lol]"]
    rows += [f"x-{n}: &{n} [{', '.join([f'*{chr(ord(n) - 1)}'] * 9)}]" for n in "bcdefghij"]
    return "\n".join(rows)


HOSTILE: dict[str, tuple[bytes, int]] = {
    "4,000 brackets": (with_key("tools: " + "[" * 4000), 11),
    "4,000 closed brackets": (with_key("tools: " + "[" * 4000 + "]" * 4000), 11),
    "4,000 braces": (with_key("tools: " + "{a: " * 4000), 11),
    "4,000 dashes": (with_key("tools:\n  " + "- " * 4000 + "x"), 11),
    "30,000 unknown keys": (with_key("\n".join(f"k{n}: 1" for n in range(30_000))), 11),
    "30,000 unknown hazards": (with_key("hazards:\n" + "- lions\n" * 30_000), 12),
    "a serial of 90,000 signs": (with_key("serials: " + "A" * 90_000 + ";"), 11),
    "a model of 90,000 signs": (with_key("models: " + "A" * 90_000 + ";"), 11),
    "a date of 90,000 signs": (with_key("revised: " + "2024-" * 18_000), 11),
    "4,000 question marks": (with_key("? " * 4000 + "x"), 11),
    "4,000 levels of indentation": (
        with_key("\n".join(" " * at + "a:" for at in range(4000))),
        11,
    ),
    "200 levels of brackets": (with_key("tools: " + "[" * 200 + "]" * 200), 11),
    "a line of 5 MB": (with_key("summary: " + "x" * 5_000_000), 11),
    "a line of 5 MB of brackets": (with_key("tools: " + "[" * 5_000_000), 11),
    "a line of 5 MB of commas": (with_key("tools: [" + "a," * 2_500_000 + "]"), 11),
    "a line of 5 MB in the body": (with_key("x-a: b") + b"y" * 5_000_000, 14),
    "a file of 11 MB": (with_key("x-a: b") + b"text\n" * 2_200_000, 1),
    "half a million keys": (with_key("\n".join(f"x-{n}: 1" for n in range(500_000))), 2),
    "half a million items": (with_key("tools:\n" + "- a\n" * 500_000), 2),
    "half a million broken lines": (with_key("a: b: c\n" * 100_000), 2),
    "aliases that grow": (with_key(laughs()), 11),
    "an anchor": (with_key("x-a: &a b"), 11),
    "an alias": (with_key("x-a: *a"), 11),
    "bad UTF-8": (with_key("summary: caf") + b"\xe9", 14),
    "bad UTF-8 in a key": (b"---\nnumber: 1\ntitle: caf\xe9\n---\n", 3),
    "UTF-16": (SOUND_BULLETIN.encode("utf-16"), 1),
    "NUL": (with_key("summary: a\0b"), 11),
    "NUL in the body": (with_key("x-a: b") + b"\n\0", 15),
    "NUL only": (b"\0" * 1000, 1),
    "surrogates": (b"---\ntitle: \xed\xa0\x80\n---\n", 2),
    "an unclosed fence": (f"---\n{HEAD}".encode(), 1),
    "an unclosed quote": (with_key('summary: "it hums'), 11),
    "an unclosed quote and much text": (with_key('summary: "it hums\n' + "a: b\n" * 20_000), 11),
    "two of a key": (with_key("title: again"), 11),
    "a tab": (with_key("checks:\n\t- cause: x"), 12),
    "a key of 90,000 signs": (with_key("k" * 90_000 + ": x"), 11),
    "a number of 90,000 digits": (with_key("minutes: " + "9" * 90_000), 11),
    "quotes without end": (with_key("x-q: " + "'\"" * 40_000), 11),
    "commas and blanks": (with_key("built: " + "2024-W10.." * 9_000), 11),
}


@pytest.mark.parametrize("name", HOSTILE)
def test_a_hostile_file_ends_in_a_message_at_its_line_and_in_time(
    make_house: MakeHouse, name: str
) -> None:
    data, line = HOSTILE[name]
    folder = make_house({"a/hostile.md": data, "b/sound.md": SOUND_BULLETIN})
    started = time.process_time()
    house = read_house(folder)
    assert time.process_time() - started < SECONDS
    mine = [problem for problem in house.problems if problem.file == "a/hostile.md"]
    assert line in [problem.line for problem in mine], mine[:5]
    assert all(problem.remedy for problem in mine)
    assert {problem.file for problem in house.problems} <= {"a/hostile.md", "b/sound.md"}
    read = {bulletin.file for bulletin in (*house.bulletins, *house.unsound)}
    assert "b/sound.md" in read


@pytest.mark.parametrize("name", HOSTILE)
def test_a_hostile_file_takes_little_memory(name: str) -> None:
    """Measured in a process of its own, which may not have more than the limit besides Python."""
    data, _ = HOSTILE[name]
    child = os.fork()
    if child == 0:  # pragma: no cover - counted in the parent by its exit status
        before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
        faults = Faults("x.md")
        read_bulletin(decode(data, faults), faults, {})
        grown = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before
        os._exit(0 if grown * 1024 < BYTES else 1)
    assert os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) == 0


@pytest.mark.parametrize("table", ["house.yaml", "families.yaml", "serials.yaml", "words.yaml"])
@pytest.mark.parametrize(
    "data",
    [
        b"a: " + b"[" * 4000,
        b"a: &a b\nc: *a\n",
        b"\0",
        b"\xff",
        b"a: 'x",
        b"- " * 4000,
        b"a: {" * 9,
    ],
)
def test_hostile_tables_end_in_a_message(make_house: MakeHouse, table: str, data: bytes) -> None:
    house = read_house(make_house({f"reference/{table}": data, "b.md": SOUND_BULLETIN}))
    assert [p for p in house.problems if p.file == f"reference/{table}"]
    assert [bulletin.file for bulletin in house.bulletins] == ["b.md"]


def check(data: bytes) -> None:
    """Hold any bytes to the promise: problems with a line of the file, or a sound bulletin."""
    faults = Faults("x.md")
    bulletin, sound = read_bulletin(decode(data, faults), faults, {"tarn": "Tarn"})
    lines = data.replace(b"\r\n", b"\n").replace(b"\r", b"\n").count(b"\n") + 2
    assert sound == (not faults.errors)
    assert bulletin is not None or faults.problems
    for problem in faults.problems:
        assert 1 <= problem.line <= lines and problem.remedy and problem.message


BYTE_SOUP = st.lists(
    st.sampled_from(
        [b"---\n", b"a", b": ", b":", b"\n", b"  ", b"\t", b"- ", b"[", b"]", b"{", b"}"]
    )
    | st.sampled_from([b"'", b'"', b"#", b"&a", b"*a", b"!t", b"|", b">", b"?", b"%", b"@", b"`"])
    | st.sampled_from([b"number: 1\n", b"family: Tarn\n", b"\r\n", b"\xe2\x80\xa8", b"\0", b"\xff"])
    | st.binary(max_size=3),
    max_size=60,
)


@settings(max_examples=500, deadline=None)
@given(BYTE_SOUP)
def test_any_soup_of_signs_gives_problems_or_a_bulletin(soup: list[bytes]) -> None:
    check(b"".join(soup))
    check(b"---\n" + b"".join(soup) + b"\n---\n")


@settings(max_examples=500, deadline=None)
@given(st.data())
def test_any_change_of_a_sound_file_gives_problems_or_a_bulletin(data: st.DataObject) -> None:
    text = RICH.encode()
    for _ in range(data.draw(st.integers(1, 4))):
        at = data.draw(st.integers(0, len(text)))
        cut = data.draw(st.integers(0, 8))
        text = text[:at] + data.draw(st.binary(max_size=6)) + text[at + cut :]
    check(text)


@pytest.mark.parametrize("seed", range(20))
def test_a_line_lost_or_doubled_or_moved_is_never_a_crash(seed: int) -> None:
    dice = random.Random(seed)
    for _ in range(40):
        lines = RICH.split("\n")
        at, to = dice.randrange(len(lines)), dice.randrange(len(lines))
        lines[to:to] = [" " * dice.randrange(4) + lines[at]]
        if dice.random() < 0.5:
            del lines[at]
        check("\n".join(lines).encode())


def test_reading_a_thousand_bulletins_is_quick_and_lean(tmp_path: Path) -> None:
    """0.2 ms and a few kB each on a plain machine; ten times that is allowed here."""
    for at in range(1000):
        (tmp_path / f"{at}.md").write_text(RICH.replace("2026-014", f"N-{at}"))
    started = time.process_time()
    assert len(read_house(tmp_path).bulletins) == 1000
    assert time.process_time() - started < 3.0
    tracemalloc.start()
    house = read_house(tmp_path)
    size, _ = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert len(house.bulletins) == 1000 and size < 100 * 2**20
