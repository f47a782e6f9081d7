"""The settings for web hosts, held by real servers: nginx, and Apache and Caddy where they are.

Sources: HTTP semantics RFC 9110 (304, ETag, Vary, Content-Encoding), caching RFC 9111, `immutable`
RFC 8246, media types by IANA (JavaScript RFC 9239), Content Security Policy level 3.
"""

from __future__ import annotations

import gzip
import hashlib
import os
import re
import shutil
from collections.abc import Iterator
from pathlib import Path

import brotli
import pytest

from kb.servers import DRAWING_POLICY, POLICY
from kb.squeezing import copies
from tests.webhost import SERVERS, Host, found, hosted

THERE = [kind for kind, (program, _) in SERVERS.items() if kind == "nginx" or found(program)]
ASKED = [(kind, under) for kind in THERE for under in ("/", "/service/notes/")]
NAMED_BY_CONTENT = re.compile(r"\.?([0-9a-f]{8}|[0-9a-f]{10})\.[a-z]+$")
# IANA's registry of media types, and the W3C's Web Application Manifest for the last.
TYPES = {
    "index.html": "text/html; charset=utf-8",
    "assets/style.*.css": "text/css; charset=utf-8",
    "assets/find.*.js": "text/javascript; charset=utf-8",
    "sw.js": "text/javascript; charset=utf-8",
    "feed.xml": "application/xml; charset=utf-8",
    "data/head.json": "application/json",
    "data/[0-9a-f]*.bin": "application/octet-stream",
    "icon.svg": "image/svg+xml",
    "icon-192.png": "image/png",
    "manifest.webmanifest": "application/manifest+json",
}


@pytest.fixture(scope="module")
def site(demo_site: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo site with its copies, beside things that a host must keep to itself."""
    folder = tmp_path_factory.mktemp("host site") / "public"
    shutil.copytree(demo_site, folder)
    for path in [path for path in folder.rglob("*") if path.is_file()]:
        for copy in copies(path.relative_to(folder).as_posix(), path.read_bytes()):
            (folder / copy.path).write_bytes(copy.content)
    for hidden in (".kb-stage-x/index.html", ".git/config", "bulletins/.hidden.html"):
        (folder / hidden).parent.mkdir(parents=True, exist_ok=True)
        (folder / hidden).write_text("not for everyone", "utf-8")
    (folder.parent / "kb.sqlite").write_text("not for everyone", "utf-8")
    (folder / ".well-known").mkdir()
    (folder / ".well-known" / "security.txt").write_text("Contact: desk\n", "utf-8")
    return folder


@pytest.fixture(scope="module", params=ASKED, ids=lambda asked: f"{asked[0]}{asked[1]}")
def host(
    site: Path, tmp_path_factory: pytest.TempPathFactory, request: pytest.FixtureRequest
) -> Iterator[Host]:
    kind, under = request.param
    with hosted(kind, site, under, tmp_path_factory.mktemp(kind) / "aside") as running:
        yield running


def files(site: Path) -> list[str]:
    every = (path for path in site.rglob("*") if path.is_file())
    shown = (path.relative_to(site).as_posix() for path in every)
    return sorted(p for p in shown if "/." not in f"/{p}" and not p.endswith((".br", ".gz")))


def one(site: Path, pattern: str) -> str:
    return min(site.glob(pattern)).relative_to(site).as_posix()


def test_what_is_named_by_its_content_is_kept_and_all_else_is_asked_for_anew(host: Host) -> None:
    for path in files(host.folder)[::3]:
        digest = hashlib.sha256((host.folder / path).read_bytes()).hexdigest()
        named = NAMED_BY_CONTENT.search(path)
        lasts = named is not None and digest.startswith(named[1])
        told = host.get(path, "HEAD").the("cache-control")
        assert told == ("public, max-age=31536000, immutable" if lasts else "no-cache"), path


@pytest.mark.parametrize(("pattern", "type"), TYPES.items())
@pytest.mark.parametrize("taken", ["", "gzip"])
def test_every_sort_of_file_has_its_type(host: Host, pattern: str, type: str, taken: str) -> None:
    answer = host.get(one(host.folder, pattern), Accept_Encoding=taken)
    assert (answer.status, answer.the("content-type").lower()) == (200, type)


@pytest.mark.parametrize("path", ["", "index.html", "bulletins/2026-014/", "?q=hums&model=TD45A"])
def test_pages_are_found_by_folder_and_by_name(host: Host, path: str) -> None:
    answer = host.get(path)
    name = path.partition("?")[0]
    file = host.folder / name / ("index.html" if not name.endswith(".html") else "")
    assert (answer.status, answer.body) == (200, file.read_bytes())
    assert answer.the("content-type").lower() == "text/html; charset=utf-8"
    assert answer.the("cache-control") == "no-cache"


def test_a_folder_without_slash_leads_to_the_folder(host: Host) -> None:
    answer = host.get("models/TD45A")
    assert answer.status in (301, 302, 307, 308)
    assert answer.the("location").endswith(f"{host.under}models/TD45A/")


@pytest.mark.parametrize(
    "path",
    [
        "nothing/here/",
        "nothing.html",
        "data/",
        "assets/",
        "assets/gone.0123456789.js",
    ],
)
def test_what_is_not_there_is_answered_by_the_page_for_it(host: Host, path: str) -> None:
    answer = host.get(path)
    assert (answer.status, answer.body) == (404, (host.folder / "404.html").read_bytes())
    assert answer.the("content-type").lower() == "text/html; charset=utf-8"
    assert answer.the("cache-control") == "no-cache"


@pytest.mark.parametrize("path", ["%00", "a%2F", "..%2fkb.sqlite", "%2e%2e/kb.sqlite"])
def test_no_address_leads_out_of_the_site(host: Host, path: str) -> None:
    assert b"not for everyone" not in host.get(path).body


@pytest.mark.parametrize(
    "path", [".kb-stage-x/index.html", ".kb-stage-x/", ".git/config", "bulletins/.hidden.html"]
)
def test_what_begins_with_a_dot_is_not_there(host: Host, path: str) -> None:
    answer = host.get(path)
    assert answer.status == 404
    assert b"not for everyone" not in answer.body


def test_proofs_of_ownership_are_there(host: Host) -> None:
    assert host.get(".well-known/security.txt").body == b"Contact: desk\n"


@pytest.mark.parametrize(
    "path", ["index.html", "", "bulletins/2026-014/", "sw.js", "feed.xml", "manifest.webmanifest"]
)
def test_the_gzip_copy_goes_to_whoever_takes_gzip(host: Host, path: str) -> None:
    file = host.folder / (path if path.rpartition("/")[2] else f"{path}index.html")
    answer = host.get(path, Accept_Encoding="gzip")
    assert answer.the("content-encoding") == "gzip"
    assert answer.body == file.with_name(f"{file.name}.gz").read_bytes()
    assert gzip.decompress(answer.body) == file.read_bytes()
    assert answer.the("vary").lower() == "accept-encoding"


def test_the_brotli_copy_goes_to_whoever_takes_brotli(host: Host) -> None:
    answer = host.get("bulletins/2026-014/", Accept_Encoding="gzip, deflate, br")
    file = host.folder / "bulletins/2026-014/index.html"
    if host.kind == "nginx" and answer.the("content-encoding") == "gzip":
        pytest.skip("nginx here is without the module ngx_brotli")
    assert answer.the("content-encoding") == "br"
    assert answer.body == file.with_name("index.html.br").read_bytes()
    assert brotli.decompress(answer.body) == file.read_bytes()
    assert answer.the("content-type").lower() == "text/html; charset=utf-8"
    assert not answer.the("content-language")


def test_nothing_is_packed_for_whoever_takes_nothing_packed(host: Host) -> None:
    answer = host.get("index.html", Accept_Encoding="identity")
    assert answer.body == (host.folder / "index.html").read_bytes()
    assert not answer.the("content-encoding")


def test_a_piece_of_data_goes_as_it_is(host: Host) -> None:
    path = one(host.folder, "data/[0-9a-f]*.bin")
    answer = host.get(path, Accept_Encoding="gzip, deflate, br")
    assert answer.body == (host.folder / path).read_bytes()
    assert not answer.the("content-encoding")


@pytest.mark.parametrize("path", ["index.html", "sw.js", "data/head.json", "icon-192.png"])
@pytest.mark.parametrize("taken", ["identity", "gzip", "gzip, deflate, br"])
def test_a_file_that_did_not_change_is_not_sent_again(host: Host, path: str, taken: str) -> None:
    before = host.get(path, Accept_Encoding=taken)
    again = host.get(path, Accept_Encoding=taken, If_None_Match=before.the("etag"))
    assert (again.status, again.body) == (304, b"")
    other = host.get(path, Accept_Encoding=taken, If_None_Match='"somethingelse"')
    assert (other.status, other.body) == (200, before.body)


def test_a_page_without_copies_is_packed_by_the_host_and_not_sent_again(host: Host) -> None:
    page = host.folder / "bare.html"
    page.write_bytes((host.folder / "index.html").read_bytes())
    answer = host.get("bare.html", Accept_Encoding="gzip")
    assert gzip.decompress(answer.body) == page.read_bytes()
    again = host.get("bare.html", Accept_Encoding="gzip", If_None_Match=answer.the("etag"))
    assert again.status == 304
    page.unlink()


def test_a_page_that_changed_is_sent(host: Host) -> None:
    page = host.folder / "changing.html"
    page.write_text("before", "utf-8")
    os.utime(page, (1_700_000_000, 1_700_000_000))
    known = host.get("changing.html").the("etag")
    page.write_text("behind", "utf-8")
    assert host.get("changing.html", If_None_Match=known).body == b"behind"
    page.unlink()


@pytest.mark.parametrize("path", ["", "bulletins/2026-014/", "sw.js", "nothing.html", "data/"])
def test_every_answer_brings_the_policy_once(host: Host, path: str) -> None:
    answer = host.get(path)
    assert answer.the("content-security-policy") == POLICY
    assert answer.the("x-content-type-options") == "nosniff"
    assert answer.the("referrer-policy") == "no-referrer"
    assert "camera=(self)" in answer.the("permissions-policy")


@pytest.mark.parametrize("taken", ["", "gzip", "br"])
def test_a_drawing_keeps_its_style_and_may_do_nothing_else(host: Host, taken: str) -> None:
    answer = host.get(one(host.folder, "bulletins/*/*.svg"), Accept_Encoding=taken)
    assert answer.the("content-security-policy") == DRAWING_POLICY
