"""Units and quantities as recorders write them, brought to the few spellings that answers use."""

from __future__ import annotations

import re
from dataclasses import dataclass

# A pressure without the words for absolute or gauge is just that: which of the two is not guessed.
TEMPERATURE, PRESSURE, ABSOLUTE, GAUGE = "temperature", "pressure", "pressure-absolute", "pressure-gauge"


@dataclass(frozen=True)
class Unit:
    """A unit as answered: value answered = (value written + shift) * factor. ``quantity`` is what it measures."""

    unit: str
    quantity: str
    factor: float = 1.0
    shift: float = 0.0


# Factors: NIST SP 811, conversion factors (from memory): 1 inHg = 3386.389 Pa, 1 Torr = 101325/760 Pa,
# 1 psi = 6894.757 Pa.
_KNOWN: dict[Unit, str] = {
    Unit("degC", TEMPERATURE): "c °c degc oc ºc ˚c ℃ celsius cel grdc degcelsius grad gradc deg.c øc",
    Unit("degF", TEMPERATURE): "f °f degf ºf ˚f ℉ fahrenheit deg.f øf",
    Unit("K", TEMPERATURE): "k kelvin degk °k",
    Unit("mbar", PRESSURE): "mbar mb millibar hpa",
    Unit("bar", PRESSURE): "bar",
    Unit("Pa", PRESSURE): "pa pascal",
    Unit("kPa", PRESSURE): "kpa",
    Unit("microbar", PRESSURE): "µbar μbar ubar microbar",
    Unit("kPa", PRESSURE, 1000.0): "mpa",
    Unit("mbar", PRESSURE, 33.86389): "inhg \"hg in.hg",
    Unit("mbar", PRESSURE, 1013.25 / 760): "torr mmhg",
    Unit("mbar", PRESSURE, 1.01325 / 760): "mtorr micron microns",
    Unit("mbar", PRESSURE, 68.94757): "psi",
    Unit("mbar", PRESSURE, 1013.25): "atm",
    Unit("%", "humidity"): "%rh %rf %r.h. rh% %r.f.",
    Unit("%", "other"): "% percent pct",
    Unit("mm", "length"): "mm",
    Unit("um", "length"): "µm μm um",
    Unit("mm", "length", 10.0): "cm",
    Unit("mm", "length", 25.4): "inch inches",
    Unit("N", "force"): "n newton newtons",
    Unit("N", "force", 1000.0): "kn",
    Unit("kg", "mass"): "kg",
    Unit("g", "mass"): "g gram grams",
    Unit("V", "voltage"): "v volt volts vdc vac",
    Unit("V", "voltage", 0.001): "mv millivolt",
    Unit("A", "current"): "a amp amps ampere amperes",
    Unit("A", "current", 0.001): "ma",
    Unit("m/s2", "acceleration"): "m/s2 m/s^2 m/s² m/s**2",
    Unit("s", "time"): "s sec secs second seconds sek sekunden",
    Unit("min", "time"): "min mins minute minutes minuten",
    Unit("s", "time", 0.001): "ms msec",
    Unit("s", "time", 3600.0): "h hr hrs hour hours std",
    Unit("s", "time", 86400.0): "d day days tage",
}  # fmt: skip
_BY_WORD = {word: unit for unit, words in _KNOWN.items() for word in words.split()}
# Units that a log may name and that nothing here needs to understand: kept as written, quantity "other".
_OTHER = frozenset(
    """
    ohm ohms ω kohm w kw wh kwh ah mah hz khz rpm 1/min u/min l/min ml/min l/h slm sccm m3/h lpm nm deg ° l ml db
    ppm µs/cm count counts bit step steps m ft m/s km/h va var ph lux lx w/m2
    """.split()  # noqa: SIM905 - read as the words they are
)
_ABSOLUTE = re.compile(r"(?i)(?<![a-z])(?:abs|absolute?)(?![a-z])\.?|\(a\)")
_GAUGE = re.compile(r"(?i)(?<![a-z])(?:gauge|gage|rel|relativ|relative|ga)(?![a-z])\.?|\(g\)")
# In a name "pressure gauge" is the instrument; only these say that the pressure is one above ambient.
_GAUGE_NAME = re.compile(r"(?i)gauge pressure|überdruck|(?<![a-z])rel(?:ativ|ative)?(?![a-z])")
_SUFFIXED = re.compile(r"(?i)(mbar|bar|psi|kpa|pa|hpa)[ _]?([ag])")
_SPACED_OUT = re.compile(r"(?i)^(?:deg(?:rees?)?\.?|grad)\s+")

# Words in a channel's name that say what it measures when no unit does.
_NAME_WORDS = (
    (re.compile(r"(?i)temp|thermocouple|dew ?p(?:oin)?t|\bTC[ _#-]?[a-z_]*\d+|\bTC\b|^TC_"), TEMPERATURE),
    (re.compile(r"(?i)humid|\bRH\b|feucht"), "humidity"),
    (re.compile(r"(?i)(?:press|druck|vacuum|vakuum|\bvac(?:_|\b))(?!.*(?:pump|valve|ventil|door|state))"), PRESSURE),
    (re.compile(r"(?i)volt|spannung"), "voltage"),
    (re.compile(r"(?i)\bamps?\b(?!-)|\bcurrent\b|strom\b"), "current"),
    (re.compile(r"(?i)\bforce\b|\bkraft\b"), "force"),
)


def unit_of(text: str) -> Unit | None:
    """The unit that a text spells, None when it isn't one that is understood."""
    plain = text.strip()
    if plain[:1] in "([{" and plain[-1:] in ")]}":
        plain = plain[1:-1].strip()
    absolute, gauge = bool(_ABSOLUTE.search(plain)), bool(_GAUGE.search(plain))
    plain = _GAUGE.sub("", _ABSOLUTE.sub("", plain)).strip(" ,_-")
    suffixed = _SUFFIXED.fullmatch(plain)
    if suffixed and plain.lower() not in _BY_WORD:
        plain, absolute, gauge = suffixed[1], suffixed[2].lower() == "a", suffixed[2].lower() == "g"
    plain = _SPACED_OUT.sub("deg", plain)
    known = _BY_WORD.get(plain.replace(" ", "").lower())
    if known is None:
        return Unit(plain, "other") if plain.lower() in _OTHER else None
    if known.quantity == PRESSURE and (absolute or gauge):
        return Unit(known.unit, ABSOLUTE if absolute else GAUGE, known.factor, known.shift)
    return known


def quantity_of_name(name: str) -> str | None:
    """What a channel measures as far as its name says so."""
    return next((quantity for words, quantity in _NAME_WORDS if words.search(name)), None)


def qualified(unit: Unit, text: str) -> Unit:
    """A pressure made absolute or gauge where the text beside it says which."""
    if unit.quantity != PRESSURE:
        return unit
    if _ABSOLUTE.search(text):
        return Unit(unit.unit, ABSOLUTE, unit.factor, unit.shift)
    if _GAUGE_NAME.search(text):
        return Unit(unit.unit, GAUGE, unit.factor, unit.shift)
    return unit


def between(unit: str, wanted: str) -> tuple[float, float] | None:
    """Factor and offset that turn values in one answered unit into another, None when they measure different things.

    Temperatures: ``T[degC] = (T[degF] - 32) / 1.8``, ``T[degC] = T[K] - 273.15`` (exact by definition).
    """
    to_base = _TO_BASE.get(unit)
    from_base = _TO_BASE.get(wanted)
    if to_base is None or from_base is None or to_base[0] != from_base[0]:
        return None
    factor = to_base[1] / from_base[1]
    return factor, (to_base[2] - from_base[2]) / from_base[1]


# unit -> base, factor, offset: value in the base unit = value * factor + offset
_TO_BASE: dict[str, tuple[str, float, float]] = {
    "degC": (TEMPERATURE, 1.0, 0.0),
    "degF": (TEMPERATURE, 1 / 1.8, -32 / 1.8),
    "K": (TEMPERATURE, 1.0, -273.15),
    "mbar": (PRESSURE, 1.0, 0.0),
    "bar": (PRESSURE, 1000.0, 0.0),
    "Pa": (PRESSURE, 0.01, 0.0),
    "kPa": (PRESSURE, 10.0, 0.0),
    "microbar": (PRESSURE, 0.001, 0.0),
    "s": ("time", 1.0, 0.0),
    "min": ("time", 60.0, 0.0),
    "mm": ("length", 1.0, 0.0),
    "um": ("length", 0.001, 0.0),
    "g": ("mass", 1.0, 0.0),
    "kg": ("mass", 1000.0, 0.0),
}
