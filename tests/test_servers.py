"""The settings for web hosts as text: what they may hold, and that all agree with one another.

Sources: Content Security Policy level 3, sections 2.2 and 2.3.1 (grammar of policies and of source
lists) with its chapter 6 (directives), and the HTML standard for `sandbox`: from memory. How a file
`_headers` is read, by its readers' own pages: `*` stands for anything, every rule that fits counts,
and the same header from two rules is joined. The real servers answer in test_servers_http.py.
"""

from __future__ import annotations

import hashlib
import re
from pathlib import Path

import pytest

from kb.errors import KbError
from kb.pages.assets import FILES
from kb.resources import folder
from kb.servers import DRAWING_POLICY, FOREVER, KINDS, LASTING, POLICY, TYPES, config
from kb.squeezing import SUFFIXES
from tests.conftest import MakeHouse
from tests.deskhouse import run

SITE = "https://service.hollin-ridge.example/service/notes/"
DIRECTIVES = {
    "default-src", "style-src", "img-src", "script-src", "connect-src", "manifest-src",
    "worker-src", "form-action", "base-uri", "frame-ancestors", "sandbox",
}  # fmt: skip
SOURCE = re.compile(r"'(?:none|self|unsafe-inline)'|[a-z][a-z0-9+.-]*:")
NAMED_BY_CONTENT = re.compile(r"\.?([0-9a-f]{8}|[0-9a-f]{10})\.[a-z]+$")


def policy(text: str) -> dict[str, list[str]]:
    """A policy taken apart: directives between `;`, a name and its sources between blanks."""
    parts = [part.split() for part in text.split(";")]
    assert len({part[0] for part in parts}) == len(parts), "a second directive would not count"
    return {name: sources for name, *sources in parts}


@pytest.mark.parametrize("text", [POLICY, DRAWING_POLICY])
def test_a_policy_keeps_to_the_grammar_of_csp_3(text: str) -> None:
    directives = policy(text)
    assert directives.keys() <= DIRECTIVES
    assert directives["default-src"] == ["'none'"]
    for name, sources in directives.items():
        assert all(SOURCE.fullmatch(source) for source in sources), name
        assert "'none'" not in sources or len(sources) == 1, f"'none' stands alone in {name}"
        assert bool(sources) is (name != "sandbox")


def test_no_script_from_elsewhere_or_within_a_page_may_run() -> None:
    asked = policy(POLICY)
    assert asked["script-src"] == asked["worker-src"] == asked["connect-src"] == ["'self'"]
    assert asked["base-uri"] == asked["frame-ancestors"] == ["'none'"]


def test_a_page_says_the_same_of_itself_but_for_its_frame() -> None:
    page = (folder("templates") / "base.html").read_text("utf-8")
    told = re.search(r'http-equiv="Content-Security-Policy" content="([^"]+)"', page)
    assert told
    assert policy(f"{told[1]}; frame-ancestors 'none'") == policy(POLICY)


def test_every_template_has_a_kind_and_every_kind_a_template() -> None:
    there = {path.name for path in (folder("templates") / "servers").iterdir()}
    assert {kind.template for kind in KINDS.values()} == there


@pytest.mark.parametrize("kind", KINDS)
def test_settings_name_the_folder_and_the_address(kind: str, tmp_path: Path) -> None:
    text = config(kind, tmp_path / "public", SITE)
    assert "/service/notes/" in text
    assert (f'"{tmp_path.resolve()}/public' in text) is (kind != "headers")
    assert not re.search(r"&#?\w+;", text), "settings are no HTML"
    assert text.endswith("\n")


@pytest.mark.parametrize("kind", [kind for kind in KINDS if kind != "headers"])
@pytest.mark.parametrize(
    "site", ["", "http://notes.example:8080", "https://notes.example", "https://notes.example/a b"]
)
def test_any_sound_address_will_do_and_others_are_told(
    kind: str, site: str, tmp_path: Path
) -> None:
    if " " in site:
        with pytest.raises(KbError, match="holds ' '") as error:
            config(kind, tmp_path, site)
        assert "house.yaml" in error.value.remedy
        return
    text = config(kind, tmp_path, site)
    assert ("notes.example" in text) is bool(site)
    assert ("8080" in text) is ("8080" in site)


def test_an_address_with_a_port_that_is_none_is_told(tmp_path: Path) -> None:
    with pytest.raises(KbError, match="no web address"):
        config("nginx", tmp_path, "https://notes.example:port/")


@pytest.mark.parametrize("name", ['a"b', "a$b", "a{b}", "a\nb", "a%b", "a'b"])
def test_a_folder_that_settings_cannot_name_is_told(name: str, tmp_path: Path) -> None:
    with pytest.raises(KbError, match="settings of hosts cannot") as error:
        config("nginx", tmp_path / name, SITE)
    assert "plainer name" in error.value.remedy


def test_a_folder_may_have_blanks_and_letters_of_any_tongue(tmp_path: Path) -> None:
    assert f'alias "{tmp_path}/Köln Süd/";' in config("nginx", tmp_path / "Köln Süd", SITE)


def test_every_sort_of_file_of_a_site_has_a_type(demo_site: Path) -> None:
    known = {f".{suffix}" for _, suffixes in TYPES for suffix in suffixes}
    there = {path.suffix for path in demo_site.rglob("*") if path.is_file()}
    assert there | set(FILES) | set(SUFFIXES) <= known


def test_lasting_are_the_files_named_by_their_content(demo_site: Path) -> None:
    for path in (path for path in demo_site.rglob("*") if path.is_file()):
        name = f"/{path.relative_to(demo_site).as_posix()}"
        assert bool(re.search(LASTING, name)) is named_by_content(path), name


def test_the_headers_file_keeps_what_lasts_and_nothing_else(demo_site: Path) -> None:
    read = rules(config("headers", demo_site, ""))
    for path in (path for path in demo_site.rglob("*") if path.is_file()):
        name = f"/{path.relative_to(demo_site).as_posix()}"
        fit = [lines for pattern, lines in read if pattern.fullmatch(name)]
        kept = [lines["Cache-Control"] for lines in fit if "Cache-Control" in lines]
        assert kept == ([FOREVER] if named_by_content(path) else []), name
        assert sum("Content-Security-Policy" in lines for lines in fit) == 1, "two would be joined"


def test_the_policy_of_the_headers_file_lets_drawings_have_their_style_and_no_more() -> None:
    read = dict(rules(config("headers", Path("public"), "")))
    every = next(lines for pattern, lines in read.items() if pattern.fullmatch("/any"))
    told = policy(every["Content-Security-Policy"])
    assert set(told.pop("style-src")) == {"'self'", "'unsafe-inline'"}
    asked = policy(POLICY)
    asked.pop("style-src")
    assert told == asked


def test_the_headers_file_stays_within_what_its_readers_take(tmp_path: Path) -> None:
    text = config("headers", tmp_path, SITE)
    assert len(rules(text)) <= 100  # the least of their readers' limits
    assert max(map(len, text.splitlines())) <= 2000
    assert all(pattern.pattern.startswith("/service/notes/") for pattern, _ in rules(text))


def test_the_command_fills_in_the_folder_and_the_address_of_the_house(
    make_house: MakeHouse, tmp_path: Path
) -> None:
    house = make_house({})
    told = run("webserver", "nginx", "--house", str(house), "--out", str(tmp_path / "web"))
    assert told.status == 0
    assert f'alias "{tmp_path.resolve()}/web/";' in told.out
    assert "server_name service.hollin-ridge.example;" in told.out
    beside = run("webserver", "nginx", "--house", str(house))
    assert f'alias "{house.resolve().parent}/site/public/";' in beside.out


def test_the_command_tells_what_is_wrong_with_the_table_of_the_house(
    make_house: MakeHouse,
) -> None:
    house = make_house({"reference/house.yaml": "name: Hollin Ridge\nsite: here\n"})
    told = run("webserver", "caddy", "--house", str(house))
    assert (told.status, told.out) == (1, "")
    assert "reference/house.yaml:2" in told.err
    (house / "reference" / "house.yaml").unlink()
    told = run("webserver", "caddy", "--house", str(house))
    assert (told.status, told.out) == (1, "")
    assert "house.yaml" in told.err


def rules(text: str) -> list[tuple[re.Pattern[str], dict[str, str]]]:
    """A file `_headers` taken apart: each pattern with the headers below it."""
    found: list[tuple[re.Pattern[str], dict[str, str]]] = []
    for line in filter(None, text.splitlines()):
        if line.startswith("/"):
            assert line.count("*") <= 1, "one star is what every reader takes"
            found.append((re.compile(re.escape(line).replace(r"\*", ".*")), {}))
        elif not line.startswith("#"):
            name, _, value = line.strip().partition(": ")
            found[-1][1][name] = value
    return found


def named_by_content(path: Path) -> bool:
    named = NAMED_BY_CONTENT.search(path.name)
    return named is not None and hashlib.sha256(path.read_bytes()).hexdigest().startswith(named[1])
