"""Houses as other people write them: all that the format allows is read without an error."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from kb.dates import Days, parse_days
from kb.house import read_house
from kb.proof import run
from kb.records import Block, Check, Count, House, KitRow, SchemeUse, SerialRange
from tests.conftest import SMALL_HOUSE, SOUND_BULLETIN, MakeHouse

TODAY = date(2026, 11, 25)
WHERE = "family: Tarn\nbuilt: 2024-W10..2025-W22\n"
FAMILIES = "reference/families.yaml"
SERIALS = "reference/serials.yaml"
PARTS = "reference/parts.csv"
HOUSE = "reference/house.yaml"


def with_keys(keys: str, body: str = "Ice in the hose holds the pump.\n") -> str:
    """Return the sound bulletin with *keys* in place of where it applies."""
    head = SOUND_BULLETIN.split("---\n")[1].replace(WHERE, keys)
    assert keys in head
    return f"---\n{head}---\n{body}"


def changed(name: str, old: str, new: str) -> dict[str, str]:
    """Return one table of the small house with a piece of it written otherwise."""
    assert old in SMALL_HOUSE[name]
    return {name: SMALL_HOUSE[name].replace(old, new)}


def read_sound(folder: Path) -> House:
    house = read_house(folder)
    errors = [problem for problem in run(house, TODAY) if problem.level == "error"]
    assert not errors and not house.unsound
    return house


@pytest.mark.parametrize(
    ("keys", "block"),
    [
        ("family: Tarn # all of it\n", Block(families=("Tarn",))),
        ("# where\nfamily: 'tarn'\n", Block(families=("Tarn",))),
        ("family: [Tarn, Cairn]\n", Block(families=("Tarn", "Cairn"))),
        ("family:\n- Tarn\n- Cairn\n", Block(families=("Tarn", "Cairn"))),
        ("models: [td45a, TD 60 B, td-45-b]\n", Block(models=("td45a", "TD 60 B", "td-45-b"))),
        ("models: TD45*\n", Block(models=("TD45*",))),
        ("models: ['*45?', \"TD60?\"]\n", Block(models=("*45?", "TD60?"))),
        (
            "family: Tarn\nrevision: 2..\n",
            Block(families=("Tarn",), revision=Count(2, None)),
        ),
        (
            'family: Tarn\nbuilt: "2024-W10..2025-W22"\n',
            Block(families=("Tarn",), built=parse_days("2024-W10..2025-W22")),
        ),
        (
            "family: Tarn\nbuilt: 2024-03-04 .. 2025\n",
            Block(families=("Tarn",), built=parse_days("2024-03-04..2025")),
        ),
        ("family: Tarn\nplant: [k]\n", Block(families=("Tarn",), plants=("K",))),
        ("family: Tarn\nplant: l\n", Block(families=("Tarn",), plants=("L",))),
        (
            "serials: [k-p-14-00031 .. K P 14 00090, LS0100007]\n",
            Block(
                serials=(
                    SerialRange("k-p-14-00031", "K P 14 00090"),
                    SerialRange("LS0100007", "LS0100007"),
                )
            ),
        ),
        (
            "family: Tarn\nexcept:\n  plant: K\n",
            Block(families=("Tarn",), but_not=(Block(plants=("K",)),)),
        ),
        (
            "applies:\n- family: Tarn\n  except:\n  - {models: TD45A, built: ..2020}\n",
            Block(
                families=("Tarn",),
                but_not=(Block(models=("TD45A",), built=parse_days("..2020")),),
            ),
        ),
    ],
)
def test_where_it_applies_may_be_written_in_many_ways(
    make_house: MakeHouse, keys: str, block: Block
) -> None:
    house = read_sound(make_house({"a.md": with_keys(keys)}))
    assert house.bulletins[0].where == (block,)


@pytest.mark.parametrize(
    ("keys", "field", "value"),
    [
        ("minutes: 7.5\n", "minutes", 7.5),
        ("minutes: 07\n", "minutes", 7.0),
        ("minutes: '30'   # with the leak test\n", "minutes", 30.0),
        ("summary: >\n  Ice holds\n  the pump.\n", "summary", "Ice holds the pump."),
        ("summary: |\n  Ice holds\n  the pump.\n", "summary", "Ice holds\nthe pump."),
        ("summary: >-\n  Ice: frozen.\n\n  Thaw.\n", "summary", "Ice: frozen.\nThaw."),
        ("summary: 'It''s ice'\n", "summary", "It's ice"),
        ("summary: Ice holds\n  the pump.\n", "summary", "Ice holds the pump."),
        ("revised: '2026-03-05'\n", "revised", date(2026, 3, 5)),
        ("status: In force\n", "status", "in-force"),
        ("hazards: [Electricity, hot water]\n", "hazards", ("electricity", "hot-water")),
        ("hazards: []\n", "hazards", ()),
        ("supersedes: []\nrelated:\n", "related", ()),
        ("tools:\n- socket, 8 mm\n- 'drill # 3'\n", "tools", ("socket, 8 mm", "drill # 3")),
        ("keep: [hr-310-7620]\n", "keep", ("hr-310-7620",)),
        ("x-ticket: 17\nx-list: [a, {b: c}]\nx-blank:\n", "minutes", None),
        (
            "checks:\n- cause: frozen\n  likelihood: .5\n  minutes: 7.5\n  last: No\n"
            "- cause: control\n  likelihood: 5 %\n  minutes: 010\n  last: TRUE\n  parts:\n",
            "checks",
            (
                Check(cause="frozen", likelihood=0.5, minutes=7.5),
                Check(cause="control", likelihood=0.05, minutes=10.0, last=True),
            ),
        ),
    ],
)
def test_optional_keys_may_be_written_in_many_ways(
    make_house: MakeHouse, keys: str, field: str, value: object
) -> None:
    house = read_sound(make_house({"a.md": with_keys(WHERE + keys)}))
    assert getattr(house.bulletins[0], field) == value


@pytest.mark.parametrize(
    "body",
    [
        "",
        "\n\n",
        "Text.\n\n---\n\nMore.\n\n* * *\n",
        "Heading\n---\nnumber: no key\n",
        "```\n---\nnumber: 2026-015\n---\n```\n",
        "~~~yaml\n---\ntitle: [\n~~~\n",
        "| code | meaning |\n|---|---|\n| E21 | drain |\n",
        "Gr\u00fc\u00dfe \u65e5\u672c \U0001f600\u2028 and so on\n",
        "no line end",
    ],
)
def test_a_body_may_be_anything(make_house: MakeHouse, body: str) -> None:
    house = read_sound(make_house({"a.md": with_keys(WHERE, body)}))
    assert house.bulletins[0].body == body


@pytest.mark.parametrize(
    "name",
    [
        "a.md",
        "2026/Q1/pumps/deep/er/a.md",
        "notes on pump.md",
        "\u00c4rger \u65e5\u672c.md",
        "B.MD",
    ],
)
def test_a_file_may_have_any_name_in_any_folder(make_house: MakeHouse, name: str) -> None:
    (bulletin,) = read_sound(make_house({name: SOUND_BULLETIN})).bulletins
    assert (bulletin.file, bulletin.number) == (name, "2026-014")


@pytest.mark.parametrize("ends", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize("mark", ["", "\ufeff"])
def test_every_file_may_have_a_mark_and_any_line_ends(
    make_house: MakeHouse, ends: str, mark: str
) -> None:
    files = {**SMALL_HOUSE, "a.md": SOUND_BULLETIN}
    marked = {name: mark + text.replace("\n", ends) for name, text in files.items()}
    house = read_sound(make_house(marked))
    assert house.bulletins[0].line("codes") == 10 and len(house.parts) == 6


@pytest.mark.parametrize(
    "files",
    [
        {"reference/words.yaml": ""},
        {"reference/words.yaml": "# none yet\n"},
        {"reference/words.yaml": "---\n"},
        {"reference/words.yaml": "same:\n"},
        {"reference/words.yaml": "same: []\nspelled: {}\n"},
        {"reference/words.yaml": "same:\nspelled:\n"},
        {"reference/kits.csv": ""},
        {"reference/kits.csv": "kit,number,quantity\n"},
        {"reference/kits.csv": "kit,number,quantity\n\n  \n"},
        {HOUSE: "name: Hollin Ridge\n"},
        {HOUSE: "---\nname: 'Hollin Ridge'\nunits: US\nlanguage: de-CH\nx-crest: a.svg\n"},
        {HOUSE: SMALL_HOUSE[HOUSE] + "logo: crest.svg\nphone: 555\n"},
    ],
)
def test_small_tables_may_be_nearly_empty(make_house: MakeHouse, files: Mapping[str, str]) -> None:
    read_sound(make_house({**files, "a.md": SOUND_BULLETIN}))


@pytest.mark.parametrize("names", [["words.yaml"], ["kits.csv"], ["kits.csv", "parts.csv"]])
def test_tables_that_are_not_needed_may_be_missing(make_house: MakeHouse, names: list[str]) -> None:
    folder = make_house({"a.md": SOUND_BULLETIN})
    for name in names:
        (folder / "reference" / name).unlink()
    read_sound(folder)


@pytest.mark.parametrize(
    ("old", "new", "produced", "schemes"),
    [
        ("2016-09..", "2016..2026", "2016..2026", ("hollin",)),
        ("2016-09..", "'2016-W36 ..'", "2016-W36..", ("hollin",)),
        ("2016-09..", "..2026-10", "..2026-10", ("hollin",)),
        ("scheme: hollin\n  codes", "scheme: [hollin]\n  codes", "2016-09..", ("hollin",)),
        ("scheme: hollin\n  codes", "scheme:\n  - hollin\n  codes", "2016-09..", ("hollin",)),
        ("TD60A, TD60B]", "TD60A, 'TD60B',]", "2016-09..", ("hollin",)),
        ("Tarn:", "x-note: {by: me}\nx-all: 1\nTarn: # the first", "2016-09..", ("hollin",)),
        ("  codes", "  x-shelf: 3\n  image: tarn.svg\n  codes", "2016-09..", ("hollin",)),
    ],
)
def test_a_family_may_be_written_in_many_ways(
    make_house: MakeHouse, old: str, new: str, produced: str, schemes: tuple[str, ...]
) -> None:
    house = read_sound(make_house({**changed(FAMILIES, old, new), "a.md": SOUND_BULLETIN}))
    assert list(house.families) == ["Tarn", "Cairn"]
    assert house.families["Tarn"].produced == parse_days(produced)
    assert tuple(use.name for use in house.families["Tarn"].schemes) == schemes


@pytest.mark.parametrize(
    "scheme",
    [
        "[{scheme: hollin, used: ..2019}, {scheme: beck, used: 2020..}]",
        "[{name: hollin, period: ..2019}, {name: beck, produced: 2020..}]",
        "[{hollin: ..2019}, {beck: 2020..}]",
        "{hollin: ..2019, beck: 2020..}",
        "\n    - scheme: hollin\n      used: ..2019\n    - scheme: beck\n      used: 2020..",
        "\n    hollin: ..2019\n    beck: '2020..'",
    ],
)
def test_schemes_with_periods_of_their_own(make_house: MakeHouse, scheme: str) -> None:
    house = read_sound(
        make_house(
            {
                **changed(FAMILIES, "scheme: hollin\n  codes", f"scheme: {scheme}\n  codes"),
                SERIALS: SMALL_HOUSE[SERIALS] + "beck:\n  layout: YY WW NNNN\n",
                "a.md": SOUND_BULLETIN,
            }
        )
    )
    assert house.families["Tarn"].schemes == (
        SchemeUse("hollin", parse_days("..2019")),
        SchemeUse("beck", parse_days("2020..")),
    )


SCHEME = SMALL_HOUSE[SERIALS]


@pytest.mark.parametrize(
    ("more", "expected"),
    [
        ("layout: YY WW NNNN", {"layout": "YYWWNNNN", "week": "iso", "used": Days()}),
        ("layout: yyyy-mm-dd-nnn", {"layout": "YYYYMMDDNNN"}),
        ("layout: Y.JJJ.NNN\n  year: digits", {"layout": "YJJJNNN", "year_letters": ""}),
        ("layout: YY WW N\n  year: Digits", {"year_letters": "", "year_first": 0}),
        ("layout: YY WW N\n  year: {first: 2004}", {"used": parse_days("2004..")}),
        ("layout: Y WW N\n  year: {digits: 1, first: 2004}", {"used": parse_days("2004..")}),
        ("layout: Y WW N\n  year: {digits: 1}\n  used: ..2020", {"used": parse_days("..2020")}),
        (
            "layout: Y M NN\n  month: {letters: 123456789OND}\n  week: ISO",
            {"month_letters": "123456789OND"},
        ),
        ("layout: YY MM NN\n  month: digits", {"month_letters": ""}),
        ("layout: Y WW N\n  year: {letters: a-b c, first: '2010'}", {"year_letters": "ABC"}),
        ("layout: YY WW N\n  week: Jan-1\n  used: 2010..2020", {"week": "jan-1"}),
        ("layout: YY WW N\n  examples: []", {"examples": ()}),
        ("layout: YY WW N\n  examples:", {"examples": ()}),
        (
            "layout: P YY WW N\n  plant:\n    k: Kirk\n    2: Two",
            {"plants": {"K": "Kirk", "2": "Two"}},
        ),
        ("layout: P YY WW N\n  plant: {K: Kirk, x-n: none}", {"plants": {"K": "Kirk"}}),
        ("layout: P YY WW N", {"plants": {}}),
        ("layout: XX NNNN\n  note: no dates in it", {"layout": "XXNNNN"}),
    ],
)
def test_a_scheme_may_be_written_in_many_ways(
    make_house: MakeHouse, more: str, expected: Mapping[str, Any]
) -> None:
    text = f"x-source: the plate\n{SCHEME}beck:\n  {more}\n"
    house = read_sound(make_house({SERIALS: text, "a.md": SOUND_BULLETIN}))
    assert list(house.schemes) == ["hollin", "beck"]
    beck = house.schemes["beck"]
    assert {key: getattr(beck, key) for key in expected} == expected


@pytest.mark.parametrize("missing", ["  used: 2010..\n", "  week: iso\n"])
def test_a_scheme_needs_neither_its_days_nor_its_kind_of_week(
    make_house: MakeHouse, missing: str
) -> None:
    read_sound(make_house({**changed(SERIALS, missing, ""), "a.md": SOUND_BULLETIN}))


HEADER = "number,name,component,status,replaced_by,relation,models,since,note\n"


@pytest.mark.parametrize(
    ("row", "expected"),
    [
        ('HR-9,"Hose, long",hose,,,,,,', {"name": "Hose, long", "status": "current"}),
        ('HR-9, "Hose, long" x,hose,,,,,,', None),
        ('HR-9, "Hose, long",hose,,,,,,', {"name": "Hose, long"}),
        ('HR-9,"Hose\nlong",hose,,,,,,', {"name": "Hose\nlong", "line": 8}),
        ('HR-9,"Hose 5/16""",hose,,,,,,', {"name": 'Hose 5/16"'}),
        ('HR-9,Hose 5/16",hose,,,,,,', {"name": 'Hose 5/16"'}),
        ("  HR-9 , Hose ,hose, Running out ,,,,,", {"number": "HR-9", "status": "running-out"}),
        ("HR-9,Hose,hose,,,,td45a TD6*,,", {"models": ("td45a", "TD6*")}),
        ('HR-9,Hose,hose,,,,"TD45A, TD45B",,', {"models": ("TD45A", "TD45B")}),
        ("HR-9,Hose,hose,,,,TD45A; TD45B,,", {"models": ("TD45A", "TD45B")}),
        ('HR-9,Hose,hose,,,,"TD45A\nTD45B",,', {"models": ("TD45A", "TD45B")}),
        ("HR-9,Hose,hose,gone,HR-310-1216,SAME,,2024,", {"since": parse_days("2024")}),
        ("HR-9,Hose,hose,gone,HR-310-1216,same,,2024-03..,", {"since": parse_days("2024-03..")}),
        ("HR-9,Hose,hose,gone,HR-310-1216,same,,2024-W10 .. 2025,", {"relation": "same"}),
        ("HR-9,Hose,hose,,,,,,- see the plate", {"note": "- see the plate"}),
        ("HR-9,Hose,hose,,,,,,+2 washers", {"note": "+2 washers"}),
        (
            "HR-9,Schlauch \u00d88 \u65e5\u672c,hose,,,,,,",
            {"name": "Schlauch \u00d88 \u65e5\u672c"},
        ),
        ("0012,Hose,hose,,,,,,", {"number": "0012"}),
        ("HR-9,Hose,hose,,,,,,,,", {"name": "Hose"}),
    ],
)
def test_a_part_may_be_written_in_many_ways(
    make_house: MakeHouse, row: str, expected: Mapping[str, Any] | None
) -> None:
    folder = make_house(
        {PARTS: SMALL_HOUSE[PARTS] + row + "\n\n,,,,,,,,\n   \n", "a.md": SOUND_BULLETIN}
    )
    if expected is None:
        assert [(p.line, p.rule) for p in read_house(folder).problems] == [(8, "syntax")]
        return
    part = read_sound(folder).parts[-1]
    assert {key: getattr(part, key) for key in expected} == expected


@pytest.mark.parametrize(
    "header",
    [
        HEADER.upper(),
        HEADER.replace("replaced_by", "replaced by"),
        HEADER.replace("replaced_by", "Replaced-By"),
        HEADER.replace(",", " , "),
        "".join(f'"{name}",' for name in HEADER.strip().split(",")) + "\n",
        HEADER.replace("note", "note,x-price"),
        HEADER.replace("note", "note,price"),
    ],
)
def test_the_header_may_be_written_in_many_ways(make_house: MakeHouse, header: str) -> None:
    rows = SMALL_HOUSE[PARTS].split("\n", 1)[1]
    if "price" in header:
        rows = rows.replace(",\n", ",,9.50\n")
    house = read_sound(make_house({PARTS: header + rows, "a.md": SOUND_BULLETIN}))
    assert [part.number for part in house.parts][:2] == ["HR-310-4120", "HR-310-4126"]
    assert house.parts[0].replaced_by == "HR-310-4126"


def test_a_part_may_change_twice_under_one_number(make_house: MakeHouse) -> None:
    more = (
        "HR-310-7620,Pump connector,connector,current,,changed,,2020,blue clip\n"
        "HR-310-7620,Pump connector,connector,current,,changed,,2024,red clip\n"
    )
    house = read_sound(make_house({PARTS: SMALL_HOUSE[PARTS] + more, "a.md": SOUND_BULLETIN}))
    assert [part.since_text for part in house.parts if part.number == "HR-310-7620"] == [
        "",
        "2020",
        "2024",
    ]


def test_a_kit_may_leave_its_quantities_out(make_house: MakeHouse) -> None:
    text = "number , kit\nHR-310-1204,HR-310-1223\n\nhr 310 1216,HR-310-1223\n"
    house = read_sound(make_house({"reference/kits.csv": text, "a.md": SOUND_BULLETIN}))
    assert house.kits == (
        KitRow(kit="HR-310-1223", number="HR-310-1204", line=2),
        KitRow(kit="HR-310-1223", number="hr 310 1216", line=4),
    )
