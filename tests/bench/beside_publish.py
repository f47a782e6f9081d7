"""What one would do without `kb publish`: Hugo over the same notes, then Pagefind over its site.

Hugo is the system's own (0.111 was measured), Pagefind npm's 1.6.0. Hugo gets each bulletin with
its front matter as its own, family, component and symptom as taxonomies, and templates for one
page and for lists, no more. Neither knows of units, spans, parts or fault codes.
"""

from __future__ import annotations

import json
import shutil
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from kb.house import read_house
from kb.records import Bulletin
from tests.bench.costs_of import Cost, cost_of
from tests.bench.phone_pages import PROGRAM, install

_CONFIG = """
baseURL = "https://service.thornmere.example/"
languageCode = "en"
title = "Thornmere"
[taxonomies]
family = "family"
component = "component"
symptom = "symptom"
[outputs]
home = ["HTML", "RSS"]
section = ["HTML"]
taxonomy = ["HTML"]
term = ["HTML"]
"""
_FRAME = """<!doctype html>
<html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width">
<title>{{ .Title }}</title></head>
<body><header><a href="{{ "/" | relURL }}">{{ site.Title }}</a></header>
<main>{{ block "main" . }}{{ end }}</main></body></html>
"""
_ONE = """{{ define "main" }}<article data-pagefind-body><h1>{{ .Title }}</h1>
<p>{{ .Params.number }} · {{ .Params.kind }} · {{ .Date.Format "2006-01-02" }}</p>
{{ range $kind := slice "family" "component" "symptom" }}<ul>
{{ range $.GetTerms $kind }}<li><a href="{{ .RelPermalink }}">{{ .Title }}</a></li>
{{ end }}</ul>{{ end }}
{{ with .Params.tools }}<p>Tools: {{ delimit . ", " }}</p>{{ end }}
{{ with .Params.hazards }}<p>Hazards: {{ delimit . ", " }}</p>{{ end }}
{{ with .Params.checks }}<table>{{ range . }}<tr><td>{{ .cause }}</td><td>{{ .test }}</td>
<td>{{ .fix }}</td></tr>{{ end }}</table>{{ end }}
{{ with .Params.parts }}<ul>{{ range . }}<li>{{ . }}</li>{{ end }}</ul>{{ end }}
{{ with .Params.related }}<ul>{{ range . }}<li><a href="{{ printf "/bulletins/%s/" . | relURL }}">
{{ . }}</a></li>{{ end }}</ul>{{ end }}
{{ .Content }}</article>{{ end }}
"""
_LIST = """{{ define "main" }}<h1>{{ .Title }}</h1><ul>
{{ range .Pages }}<li><a href="{{ .RelPermalink }}">{{ .Title }}</a>
{{ with .Params.number }}{{ . }}{{ end }}</li>
{{ end }}</ul>{{ end }}
"""


class Beside:
    """The notes of a house as Hugo takes them, and what it makes of them with Pagefind."""

    def __init__(self, house: Path, work: Path) -> None:
        self._source = work / "notes"
        self.site = work / "their-site"
        shutil.rmtree(self._source, ignore_errors=True)
        self._write("config.toml", _CONFIG)
        self._write("layouts/_default/baseof.html", _FRAME)
        self._write("layouts/_default/single.html", _ONE)
        self._write("layouts/_default/list.html", _LIST)
        for bulletin in read_house(house).bulletins:
            front = json.dumps(_front(bulletin), ensure_ascii=False, indent=1)
            self._write(f"content/bulletins/{bulletin.number}.md", f"{front}\n\n{bulletin.body}")
        install()

    def _write(self, name: str, text: str) -> None:
        path = self._source / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")

    def publish(self) -> tuple[Cost, Cost]:
        """Make the whole site in an empty folder; return what Hugo cost, and what Pagefind did."""
        shutil.rmtree(self.site, ignore_errors=True)
        words: list[str | Path] = [
            "hugo",
            "--quiet",
            "--source",
            self._source,
            "--destination",
            self.site,
        ]
        made = cost_of(words, self._source)
        return made, cost_of([PROGRAM, "--site", self.site], self._source)


def _front(bulletin: Bulletin) -> Mapping[str, Any]:
    return {
        "title": bulletin.title,
        "date": bulletin.issued.isoformat(),
        "family": sorted({name for block in bulletin.where for name in block.families}),
        "component": bulletin.component,
        "symptom": bulletin.symptoms,
        "number": bulletin.number,
        "kind": bulletin.kind,
        "tools": bulletin.tools,
        "hazards": bulletin.hazards,
        "checks": [{"cause": c.cause, "test": c.test, "fix": c.fix} for c in bulletin.checks],
        "parts": [line.number for line in bulletin.parts],
        "related": bulletin.related,
    }
