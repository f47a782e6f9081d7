"""The units of the trade: how people spell them, how they are shown, what they are turned into.

Spellings are looked up here and nowhere else, because a general units library reads some of the
trade's as something quite different: cfm as centi-femto-metres, F as farads, C as coulombs.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from typing import Literal

System = Literal["metric", "us", "both"]


@dataclass(frozen=True, slots=True)
class Unit:
    """One unit: *shown* as printed, *pint* as pint spells it.

    *turns_into* are pairs (limit, name): a value below the limit is shown in the unit of that name
    in the other system. Units of system ``both`` are the same in both and have none. *scale* marks
    thermometer degrees, which have a zero of their own.
    """

    shown: str
    system: System
    pint: str = ""
    turns_into: tuple[tuple[float, str], ...] = ()
    scale: bool = False


_ANY = float("inf")


def _to(*choices: tuple[float, str] | str) -> tuple[tuple[float, str], ...]:
    return tuple((_ANY, each) if isinstance(each, str) else each for each in choices)


_METRIC = {
    "Nm": ("N·m", "newton * meter", _to((20, "lbfin"), "lbfft")),
    "Ncm": ("N·cm", "newton * centimeter", _to("lbfin")),
    "N": ("N", "newton", _to("lbf")),
    "mm": ("mm", "millimeter", _to((1000, "in"), "ft")),
    "cm": ("cm", "centimeter", _to((100, "in"), "ft")),
    "m": ("m", "meter", _to((0.3, "in"), "ft")),
    "mm2": ("mm²", "millimeter ** 2", _to("in2")),
    "m2": ("m²", "meter ** 2", _to("ft2")),
    "Pa": ("Pa", "pascal", _to((7000, "inH2O"), "psi")),
    "hPa": ("hPa", "hectopascal", _to((70, "inH2O"), "psi")),
    "kPa": ("kPa", "kilopascal", _to((7, "inH2O"), "psi")),
    "MPa": ("MPa", "megapascal", _to("psi")),
    "mbar": ("mbar", "millibar", _to((70, "inH2O"), "psi")),
    "bar": ("bar", "bar", _to("psi")),
    "mL": ("mL", "milliliter", _to((1000, "floz"), "gal")),
    "L": ("L", "liter", _to((1, "floz"), "gal")),
    "m3": ("m³", "meter ** 3", _to("ft3")),
    "L/s": ("L/s", "liter / second", _to("cfm")),
    "m3/h": ("m³/h", "meter ** 3 / hour", _to("cfm")),
    "L/min": ("L/min", "liter / minute", _to("gal/min")),
    "L/h": ("L/h", "liter / hour", _to("gal/h")),
    "mg": ("mg", "milligram", _to("oz")),
    "g": ("g", "gram", _to((1000, "oz"), "lb")),
    "kg": ("kg", "kilogram", _to((0.1, "oz"), "lb")),
    "K": ("K", "delta_degC", _to("delta degF")),
    "delta degC": ("°C", "delta_degC", _to("delta degF")),
    "m/s": ("m/s", "meter / second", _to("ft/min")),
    "m/min": ("m/min", "meter / minute", _to("ft/min")),
}
_US = {
    "lbfin": ("lbf·in", "pound_force * inch", _to("Nm")),
    "lbfft": ("lbf·ft", "pound_force * foot", _to("Nm")),
    "ozfin": ("ozf·in", "ounce_force * inch", _to("Ncm")),
    "lbf": ("lbf", "pound_force", _to("N")),
    "in": ("in", "inch", _to((10, "mm"), (120, "cm"), "m")),
    "ft": ("ft", "foot", _to("m")),
    "yd": ("yd", "yard", _to("m")),
    "in2": ("in²", "inch ** 2", _to("mm2")),
    "ft2": ("ft²", "foot ** 2", _to("m2")),
    "psi": ("psi", "psi", _to((1000, "kPa"), "MPa")),
    "psig": ("psig", "psi", _to((1000, "kPa"), "MPa")),
    "inH2O": ("inH₂O", "inH2O", _to((40, "mbar"), "kPa")),
    "inHg": ("inHg", "inHg", _to("kPa")),
    "gal": ("gal", "US_liquid_gallon", _to((0.2, "mL"), "L")),
    "qt": ("qt", "US_liquid_quart", _to("L")),
    "pt": ("pt", "liquid_pint", _to((2, "mL"), "L")),
    "cup": ("cup", "US_liquid_cup", _to((4, "mL"), "L")),
    "floz": ("fl oz", "US_fluid_ounce", _to((32, "mL"), "L")),
    "ft3": ("ft³", "foot ** 3", _to("m3")),
    "cfm": ("cfm", "foot ** 3 / minute", _to("m3/h")),
    "gal/min": ("gal/min", "US_liquid_gallon / minute", _to("L/min")),
    "gal/h": ("gal/h", "US_liquid_gallon / hour", _to("L/h")),
    "Btu/h": ("Btu/h", "Btu_it / hour", _to((3413, "W"), "kW")),
    "Btu": ("Btu", "Btu_it", _to((1000, "kJ"), "MJ")),
    "tonref": ("tons of refrigeration", "refrigeration_ton", _to("kW")),
    "hp": ("hp", "horsepower", _to((1, "W"), "kW")),
    "lb": ("lb", "pound", _to((1, "g"), "kg")),
    "oz": ("oz", "ounce", _to((35, "g"), "kg")),
    "delta degF": ("°F", "delta_degF", _to("K")),
    "ft/min": ("ft/min", "foot / minute", _to("m/s")),
}
_SCALES = {
    "degC": ("°C", "metric", "degC", _to("degF")),
    "degF": ("°F", "us", "degF", _to("degC")),
}
# The same in both systems: shown once, and kW, W, kJ and MJ also as what US units turn into.
_BOTH = {
    "W": ("W", "watt"),
    "kW": ("kW", "kilowatt"),
    "kJ": ("kJ", "kilojoule"),
    "MJ": ("MJ", "megajoule"),
    "uA": ("µA", ""),
    "uF": ("µF", ""),
    "um": ("µm", ""),
    "ohm": ("Ω", ""),
    "kohm": ("kΩ", ""),
    "Mohm": ("MΩ", ""),
    "rpm": ("r/min", ""),
    "dBA": ("dB(A)", ""),
    "mol/m3": ("mol/m³", ""),
}
_AS_THEY_ARE = (
    *("V", "mV", "kV", "A", "mA", "VA", "kVA", "Hz", "kHz", "MHz", "Wh", "kWh", "nF", "pF"),
    *("V AC", "V DC", "s", "ms", "min", "h", "days", "years", "%", "% RH", "ppm", "dB"),
    *("°dH", "gr/gal"),
)

UNITS: Mapping[str, Unit] = {
    **{name: Unit(shown, "metric", pint, to) for name, (shown, pint, to) in _METRIC.items()},
    **{name: Unit(shown, "us", pint, to) for name, (shown, pint, to) in _US.items()},
    **{
        name: Unit(shown, "metric" if system == "metric" else "us", pint, to, scale=True)
        for name, (shown, system, pint, to) in _SCALES.items()
    },
    **{name: Unit(shown, "both", pint) for name, (shown, pint) in _BOTH.items()},
    **{name: Unit(name, "both") for name in _AS_THEY_ARE},
}

_ALSO = """
Nm: newtonmetre newtonmeter newtonmetres newtonmeters
lbfin: lbin inlb inlbf inlbs lbsin inchpound inchpounds poundinch
lbfft: lbft ftlb ftlbf ftlbs lbsft footpound footpounds poundfoot
ozfin: ozin inoz inozf
in: inch inches "
ft: foot feet '
mm: millimetre millimeter millimetres millimeters
cm: centimetre centimeter centimetres centimeters
m: metre meter metres meters
mm2: sqmm
m2: sqm
in2: sqin
ft2: sqft
ft3: cuft cf
m3: cum
psi: lbf/in2 lb/in2
inH2O: inwc inwg iwc inwatercolumn inchesofwater inh2o "wc "h2o
inHg: inofmercury
gal: gallon gallons usgal
qt: quart quarts
pt: pint pints
cup: cups
floz: fluidounce fluidounces usfloz
L: litre liter litres liters ltr
mL: millilitre milliliter millilitres milliliters cc cm3
cfm: ft3/min cuft/min cubicfeet/minute
m3/h: m3/hr m3h cmh
L/min: lpm litres/minute liters/minute ltr/min
L/s: lps litres/second liters/second L/sec
L/h: lph L/hr
gal/min: gpm gallons/minute
gal/h: gph gal/hr
Btu/h: btuh btu/hr
tonref: tonrefrigeration tonofrefrigeration tonsofrefrigeration
hp: horsepower
lb: lbs lbm pound pounds
oz: ounce ounces
g: gram grams gramme grammes gm
kg: kilogram kilograms kilo kilos kgs
degC: °C C deg.C celsius degreesC degreecelsius degreescelsius degCelsius
degF: °F F fahrenheit degreesF degreefahrenheit degreesfahrenheit
K: kelvin kelvins deltaK
delta degC: deltadegC delta°C deltaC C° degCdifference
delta degF: deltadegF delta°F deltaF F° degFdifference
m/s: m/sec
ft/min: fpm feet/minute
V: volt volts
V AC: V~
V DC: V⎓
A: amp amps ampere amperes
W: watt watts
kW: kilowatt kilowatts
Hz: hertz cps
uF: μF mfd MFD microfarad microfarads
uA: μA
um: μm micron microns
ohm: Ω ohms
kohm: kΩ kohms kiloohm kiloohms
Mohm: MΩ Mohms megohm megohms
s: sec secs second seconds
min: mins minute minutes
h: hr hrs hour hours
days: day d
years: year yr yrs
rpm: r/min rev/min 1/min
%: percent
dBA: dB(A)
"""


def _key(text: str) -> str:
    """Return *text* without what people put between the parts of a unit."""
    text = text.replace("\u2033", '"').replace("\u201d", '"').replace("\u2032", "'")
    text = unicodedata.normalize("NFKC", text.replace("\u2019", "'")).replace("\u03a9", "Ω")
    text = re.sub(r"\bper\b", "/", text)
    return re.sub(r"[\s·⋅•*.^_\-]+", "", text)


def _spellings() -> Mapping[str, str]:
    spelled = {_key(name): name for name in UNITS}
    for line in _ALSO.strip().splitlines():
        name, _, others = line.partition(": ")
        spelled.update({_key(other): name for other in others.split()})
    return spelled


_SPELLED = _spellings()


def _loose(key: str) -> str:
    """Return *key* without case, but for a leading m or M: milli is not mega."""
    return key[:1] + key[1:].casefold() if key[:1] in "mM" else key.casefold()


_LOOSE = {_loose(key): name for key, name in _SPELLED.items()}


def unit_named(text: str) -> str | None:
    """Return the name in ``UNITS`` of the unit that *text* spells, or None.

    >>> unit_named("in w.c."), unit_named("ft-lb"), unit_named("furlong")
    ('inH2O', 'lbfft', None)
    """
    key = _key(text)
    return _SPELLED.get(key) or _LOOSE.get(_loose(key))


def nearest_unit(text: str) -> str | None:
    """Return the spelling that is shown for the unit most like *text*, or None."""
    near = get_close_matches(_key(text).casefold(), [key.casefold() for key in _SPELLED], n=1)
    for key, name in _SPELLED.items():
        if near and key.casefold() == near[0]:
            return UNITS[name].shown
    return None
