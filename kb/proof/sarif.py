"""Problems as a SARIF log (OASIS Static Analysis Results Interchange Format, version 2.1.0)."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from typing import Any
from urllib.parse import quote

from kb import __version__
from kb.errors import Problem
from kb.proof import RULES
from kb.proof.annotations import errors_first, fingerprints, path_of

SCHEMA = (
    "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json"
)
TOP = "%SRCROOT%"

_BY_NAME = {rule.name: rule for rule in RULES}


def as_sarif(problems: Iterable[Problem], folder: str) -> Mapping[str, Any]:
    """Return the whole log; *folder* is the house's path from the top of the repository."""
    found = errors_first(problems)
    first = {problem.rule: problem for problem in reversed(found)}
    places = {name: at for at, name in enumerate(sorted(first))}
    marks = fingerprints(found, folder)
    run = {
        "tool": {"driver": {**_driver(), "rules": [_rule(first[name]) for name in places]}},
        "originalUriBaseIds": {TOP: {"description": {"text": "The top of the repository."}}},
        "results": [
            _result(problem, places[problem.rule], mark, folder)
            for problem, mark in zip(found, marks, strict=True)
        ],
    }
    return {"$schema": SCHEMA, "version": "2.1.0", "runs": [run]}


def _driver() -> Mapping[str, str]:
    return {"name": "Fettlebook", "version": __version__, "semanticVersion": __version__}


def _rule(first: Problem) -> Mapping[str, Any]:
    """Return what a rule is about in general; *first* is a place where it is broken."""
    rule = _BY_NAME.get(first.rule)
    name = first.rule.replace("-", " ")
    short = _general(rule.message) if rule else ""
    remedy = _general(rule.remedy) if rule else ""
    return {
        "id": first.rule,
        "shortDescription": {"text": short or f"{name[:1].upper()}{name[1:]}"},
        "help": {"text": remedy or first.remedy or first.message},
        "defaultConfiguration": {"level": first.level},
    }


def _general(text: str) -> str:
    """Return the words of a rule without what a single place fills in; nothing if none are left."""
    words = re.sub(r"\{\w+\}", "…", text.replace("{meant}", ""))
    return words[:1].upper() + words[1:] if words.strip("… ") else ""


def _result(problem: Problem, place: int, mark: str, folder: str) -> Mapping[str, Any]:
    return {
        "ruleId": problem.rule,
        "ruleIndex": place,
        "level": problem.level,
        "message": {"text": "\n".join(filter(None, (problem.message, problem.remedy)))},
        "locations": [
            {
                "physicalLocation": {
                    "artifactLocation": {
                        "uri": _uri(path_of(problem, folder)),
                        "uriBaseId": TOP,
                    },
                    "region": {"startLine": problem.line},
                }
            }
        ],
        "partialFingerprints": {"problem/v1": mark},
    }


def _uri(path: str) -> str:
    """Return a path as a relative reference of RFC 3986."""
    return quote(path.encode("utf-8", "surrogateescape"))
