"""The blocks that say where a bulletin applies, read from its keys."""

from __future__ import annotations

import re
from collections.abc import Mapping

from kb.faults import quoted
from kb.fields import Fields, Unfit, count_range, days, known_keys
from kb.folding import fold, fold_name
from kb.records import Block, SerialRange
from kb.yamltext import Broken, Rows

CONDITIONS = ("family", "models", "revision", "built", "plant", "serials")
WHERE_KEYS = (*CONDITIONS, "except")

_BLOCK_KEYS = known_keys(*WHERE_KEYS, needed=WHERE_KEYS)
_EXCEPT_KEYS = known_keys(*CONDITIONS, needed=CONDITIONS)
_SERIAL = re.compile(r"[\w\s./\u2010-\u2015\u2212-]{1,60}")
# Whatever a rating plate bears may stand in a model number, but for what parts several of them.
_MODEL = re.compile(r"[^,;|]{1,60}")
_NAMES_ONE = ("family", "models", "serials")


def where_of(fields: Fields, families: Mapping[str, str]) -> tuple[Block, ...]:
    """Return the blocks of a bulletin; *families* are names as in families.yaml, by folded name.

    A block in which something is wrong is left out, since it would apply to too much.
    """
    given = [key for key in WHERE_KEYS if key in fields.pairs and not _hidden(fields, key)]
    if "applies" not in fields.pairs:
        block = _block(fields, families, 1)
        return (block,) if block else ()
    if given:
        fields.wrong(
            fields.at("applies"),
            "where",
            f"“applies” and “{given[0]}” (line {fields.at(given[0])}) both say where it applies",
            "move every condition into the blocks of “applies”, or do without “applies”",
        )
    blocks = [
        _block(Fields(keys, fields.faults, _BLOCK_KEYS, "applies"), families, keys.line)
        for keys, _ in fields.blocks("applies")
    ]
    if not blocks and not _reported(fields, "applies"):
        fields.wrong(
            fields.at("applies"),
            "where",
            "“applies” has no block: the bulletin says nowhere where it applies",
            "give it at least one block with family, models or serials",
        )
    return tuple(block for block in blocks if block)


def _hidden(fields: Fields, key: str) -> bool:
    value = fields.pairs[key].value
    return isinstance(value, Broken) and value.hidden


def _reported(fields: Fields, key: str) -> bool:
    value = fields.pairs[key].value
    return isinstance(value, Broken) or bool(getattr(value, "items", value))


def _block(fields: Fields, families: Mapping[str, str], line: int) -> Block | None:
    before = fields.faults.errors
    if not any(_given(fields, key) for key in _NAMES_ONE):
        only = "; a date or a plant alone does not" if len(fields.pairs) else ""
        fields.wrong(
            line,
            "where",
            "the bulletin says nowhere where it applies: family, models and serials are missing",
            f"add a line such as “family: Tarn” or “models: [TD45*]”{only}",
        )
    away = _exceptions(fields, families) if "except" in fields.pairs else ()
    block = _conditions(fields, families, away)
    broken = any(isinstance(fields.pairs[k].value, Broken) for k in WHERE_KEYS if k in fields.pairs)
    return None if broken or fields.faults.errors > before else block


def _given(fields: Fields, key: str) -> bool:
    pair = fields.pairs.get(key)
    return pair is not None and not (isinstance(pair.value, Rows) and not pair.value.items)


def _exceptions(fields: Fields, families: Mapping[str, str]) -> tuple[Block, ...]:
    found = []
    for keys, _ in fields.blocks("except"):
        inner = Fields(keys, fields.faults, _EXCEPT_KEYS, "except")
        if not inner.pairs:
            inner.wrong(keys.line, "empty", "“except” takes nothing away", "add a condition")
        found.append(_conditions(inner, families, ()))
    return tuple(found)


def _conditions(fields: Fields, families: Mapping[str, str], away: tuple[Block, ...]) -> Block:
    pairs = fields.pairs
    return Block(
        families=tuple([families.get(fold_name(n), n) for n in fields.texts("family")]),
        models=_models(fields) if "models" in pairs else (),
        revision=fields.read("revision", count_range) if "revision" in pairs else None,
        built=fields.read("built", days) if "built" in pairs else None,
        plants=tuple([fold(plant) for plant in fields.texts("plant")]),
        serials=_serials(fields) if "serials" in pairs else (),
        but_not=away,
    )


def _models(fields: Fields) -> tuple[str, ...]:
    patterns = fields.texts("models")
    for index, pattern in enumerate(patterns):
        if not _MODEL.fullmatch(pattern) or not fold(pattern):
            fields.wrong(
                fields.item_line("models", index),
                "bad-value",
                f"{quoted(pattern)} is no model number",
                _several(pattern)
                or "write model numbers with * for any signs and ? for any one, such as [TD45*]",
            )
    return patterns


def _serials(fields: Fields) -> tuple[SerialRange, ...]:
    found = []
    for index, text in enumerate(fields.texts("serials")):
        try:
            found.append(serial_range(text))
        except Unfit as trouble:
            line = fields.item_line("serials", index)
            fields.wrong(line, "bad-value", f"“serials”: {trouble}", trouble.remedy)
    return tuple(found)


def serial_range(text: str) -> SerialRange:
    """Return ``FIRST..LAST`` or a single serial, as typed; raises `Unfit`."""
    first, dots, last = (part.strip() for part in text.partition(".."))
    ends = (first, last) if dots else (first, first)
    if not all(_SERIAL.fullmatch(end) and fold(end) and ".." not in end for end in ends):
        raise Unfit(
            f"{quoted(text)} is no serial and no range of serials",
            _several(text) or "write whole serials, both ends included: KP1400031..KP1400090",
        )
    return SerialRange(*ends)


def _several(text: str) -> str:
    """Return the remedy for a text that is meant as a list, empty where it is none."""
    items = [item.strip() for item in re.split(r"[,;|]", text[:200])]
    sound = len(items) > 1 and all(items)
    return f"write several as a list: [{', '.join(items)}]" if sound else ""
