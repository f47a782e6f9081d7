"""The YAML tables of a house: house.yaml, families.yaml, words.yaml (serials: ``kb.schemes``)."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any, Literal

from kb.dates import Days
from kb.errors import DateError
from kb.faults import Faults
from kb.fields import Fields, days, known_keys
from kb.folding import fold, fold_name
from kb.records import Family, HouseWords, SchemeUse
from kb.yamlrepair import read_keys
from kb.yamltext import Broken, Keys, LinePaths, Rows, Text

_HOUSE_KEYS = known_keys(
    "name", "language", "units", "site", "contact", "components", "codes", needed=("name",)
)
_FAMILY_NEEDS = {"models": "[TD45A, TD45B]", "produced": "2016-09..", "scheme": "hollin"}
_FAMILY_KEYS = known_keys(
    "product", "models", "produced", "scheme", "components", "codes", needed=_FAMILY_NEEDS
)
_PERIODS = ("used", "period", "produced")
_USE_KEYS = known_keys("scheme", "name", *_PERIODS, needed=("scheme", "name"))
_WORD_KEYS = known_keys("same", "spelled")
_UNITS: tuple[Literal["metric", "us"], ...] = ("metric", "us")
_LANGUAGE = re.compile(r"[A-Za-z]{2,3}(-[A-Za-z0-9]{2,8})*")
_SITE = re.compile(r"https?://[^\s/]+.*")
_PATTERN_SIGNS = re.compile(r"[*?]")


def read_house_table(text: str, faults: Faults) -> dict[str, Any]:
    """Return the fields of `kb.records.House` that house.yaml gives."""
    fields = Fields(read_keys(text, faults), faults, _HOUSE_KEYS, is_open=True)
    fields.need("name", "Hollin Ridge", 1)
    language, site = fields.text("language"), fields.text("site")
    if language and not _LANGUAGE.fullmatch(language):
        fields.wrong(
            fields.at("language"),
            "bad-value",
            f"“{language}” is no language code",
            "write the two letters of ISO 639, such as en",
        )
    if site and not _SITE.fullmatch(site):
        fields.wrong(
            fields.at("site"),
            "bad-value",
            f"“{site}” is no web address",
            "write where the site will stand, such as https://service.example/",
        )
    return {
        "name": fields.text("name", one_line=True),
        "language": language or "en",
        "units": fields.one_of("units", _UNITS) or "metric",
        "site": site,
        "contact": fields.text("contact"),
        "components": fields.texts("components"),
        "codes": fields.texts("codes"),
    }


def read_families(text: str, faults: Faults) -> dict[str, Family]:
    """Return the families of families.yaml by name."""
    found: dict[str, Family] = {}
    folded: dict[str, str] = {}
    models: dict[str, tuple[str, int]] = {}
    for name, line, keys in entries(read_keys(text, faults), faults, "family", "models"):
        first = folded.setdefault(fold_name(name), name)
        if first != name:
            faults.add(
                line, "duplicate-key", f"“{name}” and “{first}” are one family", "keep one of them"
            )
        fields = Fields(keys, faults, _FAMILY_KEYS, name, is_open=True)
        found[name] = _family(name, line, fields)
        _models_once(fields, found[name], models)
    return found


def entries(keys: Keys, faults: Faults, what: str, key: str) -> Iterator[tuple[str, int, Keys]]:
    """Yield name, line and keys of each entry of a table of named mappings; report the others."""
    for name, (line, value) in keys.pairs.items():
        if name.startswith("x-"):
            continue
        if isinstance(value, Keys):
            yield name, line, value
        elif not isinstance(value, Broken):
            faults.add(
                line,
                "wrong-shape",
                f"the {what} “{name}” has no keys of its own",
                f"write its keys below it, indented: “  {key}: …”",
            )


def _family(name: str, line: int, fields: Fields) -> Family:
    fields.need("product", "dishwasher", line, level="warning")
    for key, example in _FAMILY_NEEDS.items():
        fields.need(key, example, line)
    return Family(
        name=name,
        product=fields.text("product"),
        models=fields.needed_texts("models"),
        produced=fields.read("produced", days) or Days(),
        schemes=tuple(_uses(fields)),
        line=line,
        lines=LinePaths(Keys(fields.pairs, line)),
        components=fields.texts("components"),
        codes=fields.texts("codes"),
    )


def _models_once(fields: Fields, family: Family, seen: dict[str, tuple[str, int]]) -> None:
    for index, model in enumerate(family.models):
        line = fields.item_line("models", index)
        if _PATTERN_SIGNS.search(model) or not fold(model):
            fields.wrong(
                line,
                "bad-value",
                f"“{model}” is no model number",
                "write each model in full as on the rating plate, without the revision",
            )
        if there := seen.get(fold(model)):
            fields.wrong(
                line,
                "model-twice",
                f"the model {model} is listed twice: first in {there[0]}, line {there[1]}",
                "list a model once, in the one family it belongs to",
            )
        seen.setdefault(fold(model), (family.name, line))


def _uses(fields: Fields) -> Iterator[SchemeUse]:
    pair = fields.pairs.get("scheme")
    items = [] if pair is None else [pair.value]
    if pair and isinstance(pair.value, Rows):
        items = pair.value.items or [Text("", pair.line)]
    for item in items:
        if isinstance(item, Text) and item.text.strip():
            yield SchemeUse(item.text.strip())
        elif isinstance(item, Keys):
            yield from _by_period(item) or _use(Fields(item, fields.faults, _USE_KEYS, "scheme"))
        elif not isinstance(item, Broken):
            fields.wrong(
                item.line or fields.line,
                "empty" if isinstance(item, Text) else "wrong-shape",
                "a scheme of this family has no name",
                "name a scheme of serials.yaml, or several as [first, second]",
            )


def _by_period(keys: Keys) -> list[SchemeUse]:
    """Return the schemes of ``{hollin: ..2019, beck: 2020..}``, none where the keys are others."""
    found = []
    for name, (_, value) in keys.pairs.items():
        try:
            found.append(SchemeUse(name, days(value.text if isinstance(value, Text) else "")))
        except DateError:
            return []
    return [] if keys.pairs.keys() & _USE_KEYS.keys() else found


def _use(fields: Fields) -> Iterator[SchemeUse]:
    key = "name" if "name" in fields.pairs else "scheme"
    if fields.need(key, "hollin"):
        period = next((name for name in _PERIODS if name in fields.pairs), "used")
        yield SchemeUse(fields.text(key), fields.read(period, days) or Days())


def read_words(text: str, faults: Faults) -> HouseWords:
    """Return the word rings and the spellings of words.yaml."""
    fields = Fields(read_keys(text, faults), faults, _WORD_KEYS, is_open=True)
    return HouseWords(tuple(_rings(fields)), _spelled(fields))


def _rings(fields: Fields) -> Iterator[tuple[str, ...]]:
    pair = fields.pairs.get("same")
    if pair is None or isinstance(pair.value, Broken) or pair.value == Text("", pair.value.line):
        return
    rows = pair.value.items if isinstance(pair.value, Rows) else [pair.value]
    for row in rows:
        words = [word for word in getattr(row, "items", ()) if isinstance(word, Text)]
        if not isinstance(row, Rows) or len(words) < len(row.items):
            fields.wrong(
                row.line if isinstance(pair.value, Rows) else pair.line,
                "wrong-shape",
                "“same” takes one list for each ring of words",
                "write “- [leak, drip, water on floor]” for each ring",
            )
            continue
        for word in words:
            if not word.text.strip():
                fields.wrong(word.line, "empty", "a word of this ring is empty", "remove the comma")
        yield tuple(word.text.strip() for word in words if word.text.strip())


def _spelled(fields: Fields) -> dict[str, str]:
    pair = fields.pairs.get("spelled")
    if pair and pair.value == Text("", pair.value.line):
        return {}
    keys = fields.block("spelled")
    if keys is None:
        return {}
    inner = Fields(keys, fields.faults, known_keys(*keys.pairs, needed=keys.pairs), "spelled")
    found = {wrong.strip(): inner.text(wrong) for wrong in keys.pairs}
    return {wrong: right for wrong, right in found.items() if right}
