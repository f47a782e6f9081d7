"""Unit names: every spelling of the trade, and what a general library would have made of it."""

from __future__ import annotations

from typing import Any

import pint
import pytest

from kb.quantities import QuantityError, read, show
from kb.unitnames import UNITS, nearest_unit, unit_named

LIBRARY: pint.UnitRegistry[Any] = pint.UnitRegistry()
SPELLINGS = {
    "Nm": "N m|N·m|N.m|Nm|nm|N-m|newton metre|newton meters|N⋅m",
    "lbfin": "lbf in|lbf·in|lb-in|in-lb|in lb|in-lbs|in. lb.|inch-pounds|inch pound|in·lbf|lbin",
    "lbfft": "lbf ft|ft-lb|ft lb|ft-lbs|lb-ft|foot-pounds|ft·lbf|FT-LB",
    "ozfin": "ozf in|oz-in|in-oz|oz·in",
    "lbf": "lbf|LBF",
    "in": 'in|inch|inches|"|″|”|IN',
    "ft": "ft|foot|feet|'|′|’|FT",
    "mm": "mm|millimetre|millimeters",
    "cm": "cm|centimetres|centimeter",
    "m": "m|metre|meters",
    "in2": "in2|in²|sq in|in^2",
    "ft2": "ft²|sq ft|ft2",
    "ft3": "ft³|cu ft|ft3|cf",
    "m3": "m³|m3|m^3|cu m",
    "psi": "psi|PSI|lbf/in²|lb/in2",
    "psig": "psig|PSIG",
    "inH2O": 'in w.c.|in wc|inwc|"wc|" w.c.|inH2O|inH₂O|in w.g.|inches of water|IWC|in H2O',
    "inHg": "inHg|in Hg|in. Hg",
    "Pa": "Pa|pa",
    "kPa": "kPa|KPA|kpa",
    "mbar": "mbar|mBar",
    "bar": "bar|BAR",
    "L": "L|l|litre|liters|ltr",
    "mL": "mL|ml|cc|cm3|cm³|millilitres",
    "gal": "gal|gallon|gallons|US gal",
    "floz": "fl oz|fl. oz.|fluid ounce|US fl oz",
    "cfm": "cfm|CFM|ft3/min|ft³/min|cu ft/min|cubic feet per minute",
    "m3/h": "m³/h|m3/h|m^3/hr|cmh",
    "gal/min": "gpm|GPM|gal/min|gallons per minute",
    "L/min": "L/min|l/min|lpm|litres per minute",
    "Btu/h": "Btu/h|BTU/hr|BTUH|btuh",
    "tonref": "tons of refrigeration|ton refrigeration",
    "hp": "hp|HP|horsepower",
    "lb": "lb|lbs|lbm|pounds|LBS",
    "oz": "oz|ounces|OZ",
    "g": "g|gram|grams|gm",
    "kg": "kg|kilos|KG|kilogram",
    "degC": "degC|°C|℃|C|deg C|celsius|degrees C|degrees celsius",
    "degF": "degF|°F|℉|F|deg F|fahrenheit|degrees F",
    "K": "K|kelvin|delta K",
    "V": "V|volts|volt",
    "V AC": "V AC|VAC|V~|vac",
    "V DC": "V DC|VDC|V⎓",
    "A": "A|amps|amperes",
    "W": "W|watts|w",
    "kW": "kW|KW|kw",
    "uF": "uF|µF|μF|mfd|MFD|microfarads",
    "uA": "µA|μA|uA",
    "ohm": "ohm|Ω|Ω|ohms|Ohms",
    "kohm": "kΩ|kohm|k ohms|K ohms",
    "Mohm": "MΩ|Mohm|megohms",
    "s": "s|sec|seconds",
    "min": "min|mins|minutes",
    "h": "h|hr|hours",
    "rpm": "rpm|RPM|r/min|1/min|rev/min",
    "%": "%|percent",
    "°dH": "°dH|° dH",
}
ALL = [(name, spelled) for name, text in SPELLINGS.items() for spelled in text.split("|")]


@pytest.mark.parametrize(("name", "spelled"), ALL)
def test_every_spelling_of_the_trade_is_known(name: str, spelled: str) -> None:
    assert unit_named(spelled) == name


@pytest.mark.parametrize(("name", "spelled"), ALL)
def test_a_quantity_is_read_with_every_spelling(name: str, spelled: str) -> None:
    assert read(f"7 {spelled}").unit == name
    assert show(f"7 {spelled}") == show(f"7 {UNITS[name].shown}")


@pytest.mark.parametrize("spelled", ["mPa", "mohm", "MBAR", "mw h", "Mm", "MV", "MA"])
def test_milli_and_mega_are_never_mixed_up(spelled: str) -> None:
    found = unit_named(spelled)
    assert found is None or UNITS[found].shown[0] == spelled[0]


# pint 0.25: what the library itself makes of the trade's words; the names are never left to it.


@pytest.mark.parametrize(("spelled", "of_pint"), [("cfm", "fm"), ("F", "farad"), ("C", "coulomb")])
def test_words_that_the_units_library_takes_for_something_else(spelled: str, of_pint: str) -> None:
    theirs = LIBRARY.parse_units(spelled)
    ours = LIBRARY.parse_units(UNITS[unit_named(spelled) or ""].pint)
    assert theirs.dimensionality != ours.dimensionality, of_pint


@pytest.mark.parametrize("spelled", ["psig", "gpm", "inwc", "CFM", "in_lb"])
def test_words_that_the_units_library_does_not_know(spelled: str) -> None:
    with pytest.raises(pint.errors.UndefinedUnitError):
        LIBRARY.parse_units(spelled)
    assert unit_named(spelled)


def test_plain_btu_is_the_international_table_one() -> None:
    # Exact: 1055.055 852 62 J (ISO 31-4, from memory); the thermochemical one is 1054.35 J.
    joules = LIBRARY.Quantity(1, UNITS["Btu"].pint).to("joule").magnitude
    assert joules == pytest.approx(1055.05585262, rel=1e-9)


def test_units_of_both_systems_turn_into_nothing_and_others_into_the_other_system() -> None:
    for name, unit in UNITS.items():
        assert bool(unit.turns_into) == (unit.system != "both"), name
        limits = [limit for limit, _ in unit.turns_into]
        assert limits == sorted(set(limits)), name
        assert all(UNITS[other].pint for _, other in unit.turns_into), name


@pytest.mark.parametrize(
    ("typed", "near"),
    [("Nmm", "N·m"), ("kpaa", "kPa"), ("galon", "gal"), ("celcius", "°C"), ("psii", "psi")],
)
def test_a_mistyped_unit_names_the_nearest(typed: str, near: str) -> None:
    assert nearest_unit(typed) == near
    with pytest.raises(QuantityError) as refused:
        read(f"5 {typed}")
    assert refused.value.remedy == f"did you mean {near}? Otherwise take the braces away"


@pytest.mark.parametrize("typed", ["furlong", "smoot", "qqqqq"])
def test_a_unit_like_no_other_is_refused_without_a_guess(typed: str) -> None:
    assert unit_named(typed) is None
    with pytest.raises(QuantityError) as refused:
        read(f"5 {typed}")
    assert refused.value.message == f"'{typed}' is no unit that is known here"
