"""Lengths and angles as people write them, and back.

Inside the package every length is millimetres and every angle degrees. A user writes ``4 3/4 in``, ``4-3/4"``,
``120.65 mm``, ``12 cm``, ``1.2 m`` or ``2 ft``; a bare number is refused, because an inch taken for a millimetre is
the mistake that this tool exists to prevent.
"""

from __future__ import annotations

import math
import re
import unicodedata
from collections.abc import Mapping
from fractions import Fraction

from clearance.errors import UnitError
from clearance.plain import echoed, quoted

FIRST = ("mm", "in")
"""Which unit a page may have first; the other stands beside it in brackets."""

MOST_MM = 100_000.0
"""A hundred metres: nothing about one wheel is longer, so such a number is a slip of the unit."""
MOST_DEG = 360.0
MOST_LETTERS = 60
"""Of a written measure; what is longer was never read off a tape, and its digits would fill no number."""

MOST_DIGITS = 12
"""Of a mass, a speed or a percentage, its point among them: no more were ever read off anything."""

MM_PER_INCH = 25.4
MM_PER_FOOT = 304.8
KG_PER_POUND = 0.45359237
"""All exact since 1959 (international yard and pound agreement)."""
NOTHING_MM = 0.05
"""What a page that says tenths of a millimetre shows as 0.0."""
SAME_RIM_IN = 0.05
"""Rim codes closer than this are one: they come in quarters of an inch, and 381 mm is 15 in."""
KMH_PER_MPH = 1.609344

LENGTH_UNITS = {
    "mm": 1.0,
    "millimetre": 1.0,
    "millimetres": 1.0,
    "millimeter": 1.0,
    "millimeters": 1.0,
    "cm": 10.0,
    "m": 1000.0,
    "metre": 1000.0,
    "metres": 1000.0,
    "meter": 1000.0,
    "meters": 1000.0,
    "in": MM_PER_INCH,
    "inch": MM_PER_INCH,
    "inches": MM_PER_INCH,
    '"': MM_PER_INCH,
    "\u2033": MM_PER_INCH,
    "\u201d": MM_PER_INCH,
    "ft": MM_PER_FOOT,
    "foot": MM_PER_FOOT,
    "feet": MM_PER_FOOT,
}
"""A unit as people write it, in millimetres."""
MESH_UNITS = {unit: LENGTH_UNITS[unit] for unit in ("mm", "cm", "m", "in", "ft")}
"""In which the numbers of a mesh file may be, in millimetres."""
ANGLE_UNITS = {"deg": 1.0, "degree": 1.0, "degrees": 1.0, "\u00b0": 1.0, "rad": 180.0 / math.pi}
"""In degrees."""
MASS_UNITS = {"kg": 1.0, "lb": KG_PER_POUND, "lbs": KG_PER_POUND}
"""In kilograms."""
SPEED_UNITS = {"km/h": 1.0, "kph": 1.0, "mph": KMH_PER_MPH}
"""In km/h."""
SHARE_UNITS = {"%": 0.01}
"""As a fraction."""

_NUMBER = re.compile(
    r"""(?P<sign>[+-]?)\s*
    (?:(?P<whole>\d+)[\s-]+(?P<n1>\d+)\s*/\s*(?P<d1>\d+)   # 4 3/4 or 4-3/4
    | (?P<n2>\d+)\s*/\s*(?P<d2>\d+)                         # 3/4
    | (?P<decimal>\d+(?:\.\d*)?|\.\d+))                     # 4, 4.75, .75
    \s*(?P<unit>[^\d\s].*)?$""",
    re.VERBOSE,
)


def length_mm(text: object, *, most_mm: float = MOST_MM) -> float:
    """The length that a person wrote, in millimetres.

    Raises UnitError for a bare number, an unknown unit, text that is not a length, or one of more than `most_mm`: a
    reader that knows the ends of what it reads says them itself, and asks for none here.

    >>> length_mm("4 3/4 in")
    120.64999999999999
    >>> length_mm('-1/2"')
    -12.7
    """
    mm = _measure(text, LENGTH_UNITS, "length", '"120 mm" or "4 3/4 in"', "mm", "in")
    if abs(mm) > most_mm:
        raise UnitError(f"{quoted(text)} is more than {most_mm / 1000:g} m. Check the number and its unit.")
    return mm


def angle_deg(text: object, *, most_deg: float = MOST_DEG) -> float:
    """The angle that a person wrote, in degrees.

    Raises UnitError for a bare number, an unknown unit, text that is not an angle, or one of more than `most_deg`: a
    whole turn, where the reader has no ends of its own.

    >>> angle_deg("33 deg")
    33.0
    """
    deg = _measure(text, ANGLE_UNITS, "angle", '"33 deg"', "deg", "rad")
    if abs(deg) > most_deg:
        raise UnitError(f"{quoted(text)} is more than {most_deg:g} deg. Check the number and its unit.")
    return deg


def number_of(text: str) -> float:
    """A number without a unit, as people write one: 8, 8.5, "8,5", "8 1/2", "8\u00bd".

    Raises UnitError for what is none.

    >>> number_of("8 1/2"), number_of("8,5")
    (8.5, 8.5)
    """
    written = _plainly(text.strip(), "number")
    match = _NUMBER.match(written) if len(written) <= MOST_LETTERS else None
    if match is None or match["unit"]:
        raise UnitError(f"{echoed(text)} is not a number. Write 8, 8.5 or 8 1/2.")
    return _value(match, text)


def in_unit(text: str, unit: str) -> str:
    """A length as it was written, with this unit where it has none.

    >>> in_unit("4 1/2", "in"), in_unit("4\u00bd", "in"), in_unit("114,3 mm", "in")
    ('4 1/2 in', '4\u00bd in', '114,3 mm')
    """
    bare = text.strip()
    return f"{bare} {unit}" if bare and (bare[-1].isdigit() or bare[-1] in _FRACTIONS or bare[-1] == ".") else bare


def mass_kg(text: object) -> float:
    """A mass that a person wrote, in kilograms.

    Raises UnitError for a bare number or an unknown unit.

    >>> mass_kg("520 kg"), round(mass_kg("1146 lb"), 1)
    (520.0, 519.8)
    """
    return _with_unit(text, MASS_UNITS, "a mass", '"520 kg" or "1146 lb"')


def speed_kmh(text: object) -> float:
    """A speed that a person wrote, in km/h.

    Raises UnitError for a bare number or an unknown unit.

    >>> speed_kmh("180 km/h"), round(speed_kmh("112 mph"), 1)
    (180.0, 180.2)
    """
    return _with_unit(text, SPEED_UNITS, "a speed", '"180 km/h" or "112 mph"')


def share_of(text: object) -> float:
    """A percentage as a fraction.

    Raises UnitError for what is none.

    >>> share_of("6 %")
    0.06
    """
    return _with_unit(text, SHARE_UNITS, "a percentage", '"6 %"')


def _with_unit(text: object, units: Mapping[str, float], what: str, example: str) -> float:
    match = re.fullmatch(r"\s*([+-]?(?:\d+\.?\d*|\.\d+))\s*(\S+)\s*", text) if isinstance(text, str) else None
    if match is None or match[2].lower() not in units:
        raise UnitError(f"{echoed(text)} is not {what}. Write {example}.")
    if len(match[1]) > MOST_DIGITS:
        raise UnitError(f"{echoed(text)} is too large to be {what}. Check the number and its unit.")
    return float(match[1]) * units[match[2].lower()]


def parted(text: str) -> tuple[str, str]:
    """What a person wrote as its number and its unit, each as written; the unit is empty where there is none.

    >>> parted("4 3/4 in"), parted("-6 %"), parted("12")
    (('4 3/4', 'in'), ('-6', '%'), ('12', ''))
    """
    match = re.match(r"([\d\s./+-]*)(.*)", text.strip(), re.DOTALL)
    assert match is not None
    return match[1].strip(), match[2].strip()


def _measure(text: object, units: dict[str, float], what: str, example: str, first: str, second: str) -> float:
    none = f"{echoed(text)} is not {'an' if what[0] in 'aeiou' else 'a'} {what}. Write {example}."
    if isinstance(text, (int, float)) and not isinstance(text, bool):
        shown = echoed(text)
        raise UnitError(f'{shown} has no unit. Write "{shown} {first}" or "{shown} {second}".')
    if not isinstance(text, str):
        raise UnitError(none)
    written = _plainly(text.strip(), what)
    if len(written) > MOST_LETTERS:
        raise UnitError(f"{quoted(text)} is too large to be a {what}. Check the number and its unit.")
    match = _NUMBER.match(written)
    if match is None:
        raise UnitError(none)
    unit = (match["unit"] or "").strip().rstrip(".").lower()
    if not unit:
        raise UnitError(f'{echoed(text)} has no unit. Write "{written} {first}" or "{written} {second}".')
    if unit not in units:
        known = _short_names(units)
        raise UnitError(f"{echoed(text)}: the unit {echoed(unit)} is not known for a {what}. Use one of {known}.")
    return _value(match, text) * units[unit]


def _short_names(units: dict[str, float]) -> str:
    return ", ".join(sorted(name for name in units if name.isalpha() and len(name) <= 3))


_COMMA = re.compile(r"([+-]?\s*\d+),(\d+)(?!\s*[\d,])(.*)", re.DOTALL)


def _plainly(text: str, what: str) -> str:
    """The same with its fraction in figures and its decimal point as one.

    Raises UnitError for a comma that can be read in two ways.

    >>> _plainly("4\u00bd in", "length"), _plainly("\u00be in", "length"), _plainly("4,5 cm", "length")
    ('4 1/2 in', '3/4 in', '4.5 cm')
    """
    shown = "".join(_in_figures(sign) for sign in text).strip()
    found = _COMMA.fullmatch(shown)
    if found is None:
        return shown
    whole, part, rest = found.groups()
    if len(part) == 3 and whole.strip("+- ") != "0":
        raise UnitError(
            f'{echoed(text)} can be read in two ways. Write "{whole}.{part}{rest}" or "{whole}{part}{rest}".'
        )
    return f"{whole}.{part}{rest}"


def _in_figures(sign: str) -> str:
    if sign not in _FRACTIONS:
        return sign
    value = Fraction(unicodedata.numeric(sign)).limit_denominator(10)
    return f" {value.numerator}/{value.denominator}"


_FRACTIONS = frozenset("\u00bc\u00bd\u00be\u2153\u2154\u215b\u215c\u215d\u215e")
"""Quarters, thirds and eighths as one sign."""


def circle_text(text: str) -> str:
    """The diameter of a bolt circle with its unit: a bare number can be one thing only, inches or millimetres.

    Raises UnitError for one that is neither.

    >>> circle_text("4 1/2"), circle_text("114.3"), circle_text("4.5 in")
    ('4 1/2 in', '114.3 mm', '4.5 in')
    """
    number, unit = parted(_plainly(text, "length"))
    if unit or not number:
        return text
    for meant, low, high in (("in", 3.0, 14.0), ("mm", 70.0, 350.0)):
        if low * LENGTH_UNITS[meant] <= length_mm(f"{number} {meant}") <= high * LENGTH_UNITS[meant]:
            return f"{number} {meant}"
    raise UnitError(f'{echoed(text)} is no bolt circle in either unit. Write "4.5 in" or "114.3 mm".')


def _value(match: re.Match[str], text: str) -> float:
    denominator = match["d1"] or match["d2"]
    if denominator is not None and int(denominator) == 0:
        raise UnitError(f"{echoed(text)} divides by zero.")
    if match["whole"] is not None:
        value = float(int(match["whole"]) + Fraction(int(match["n1"]), int(match["d1"])))
    elif match["n2"] is not None:
        value = float(Fraction(int(match["n2"]), int(match["d2"])))
    else:
        value = float(match["decimal"])
    return -value if match["sign"] == "-" else value


def inches(mm: float) -> float:
    """Millimetres as inches."""
    return mm / MM_PER_INCH


def inch_text(mm: float, *, denominator: int = 16) -> str:
    """Millimetres as a tape shows them: inches to the nearest sixteenth.

    >>> inch_text(120.65)
    '4 3/4 in'
    >>> inch_text(-6.0)
    '-1/4 in'

    What is not nothing is not said to be.

    >>> inch_text(0.4), inch_text(0.0)
    ('under 1/16 in', '0 in')
    """
    steps = round(abs(mm) / MM_PER_INCH * denominator)
    whole, part = divmod(steps, denominator)
    sign = "-" if mm < 0 and steps else ""
    if steps == 0 and abs(mm) >= NOTHING_MM:
        return f"under 1/{denominator} in"
    if part == 0:
        return f"{sign}{whole} in"
    fraction = Fraction(part, denominator)
    text = f"{fraction.numerator}/{fraction.denominator}"
    return f"{sign}{whole} {text} in" if whole else f"{sign}{text} in"


_BETWEEN = re.compile(r"\s*[x\u00d7*]\s*", re.IGNORECASE)
_BARE = re.compile(r"\d+(?:[.,]\d+)?(?:[ -]\d+/\d+)?|\d+/\d+")


def sides_mm(text: str, count: int) -> tuple[float, ...]:
    """The sides of a sheet or a bed, as people write them: a unit behind the last holds for all; none is millimetres.

    Raises UnitError for what is not so many lengths.

    >>> sides_mm("1220x610", 2)
    (1220.0, 610.0)
    >>> [round(mm, 3) for text in ("24 in x 48 in", "8 1/2 x 11 in") for mm in sides_mm(text, 2)]
    [609.6, 1219.2, 215.9, 279.4]
    """
    words = _BETWEEN.split(text.strip()) if len(text) < 100 else []
    if len(words) != count:
        raise UnitError(f'"{text[:40]}" is not {count} lengths with x between them.')
    last = words[-1]
    unit = last[_BARE.match(last).end() :].strip() if _BARE.match(last) else ""  # type: ignore[union-attr]
    unit = unit or "mm"
    return tuple(length_mm(f"{word} {unit}" if _BARE.fullmatch(word) else word) for word in words)


def inch_inside(mm: float, *, at_least: bool, denominator: int = 16) -> str:
    """A limit as a tape shows it, rounded to the side that keeps it: up for one that is `at_least`, else down.

    >>> inch_inside(106.3, at_least=False), inch_inside(32.6, at_least=True)
    ('4 1/8 in', '1 5/16 in')
    """
    steps = mm / MM_PER_INCH * denominator
    # a limit that stands on a step stays on it
    whole = math.ceil(steps - 1e-6) if at_least else math.floor(steps + 1e-6)
    return inch_text(whole / denominator * MM_PER_INCH, denominator=denominator)


def both(mm: float, *, digits: int = 1) -> str:
    """Millimetres with the inches beside them.

    >>> both(120.65)
    '120.7 mm (4 3/4 in)'
    """
    # adding zero turns a negative zero into a plain one
    return f"{round(mm, digits) + 0.0:.{digits}f} mm ({inch_text(mm)})"


def fine(mm: float) -> str:
    """Millimetres that a sixteenth would swallow, a tolerance or what a reading may hide, with thousandths of an inch.

    >>> fine(1.5)
    '1.50 mm (0.059 in)'
    """
    return f"{mm + 0.0:.2f} mm ({mm / MM_PER_INCH + 0.0:.3f} in)"


WRITTEN = re.compile(r"(?<![\w.])(?P<mm>-?\d+(?:\.\d+)?) mm\b(?: \((?P<inch>(?:under )?-?[\d ./]+ in)\))?")
"""A length in a sentence: millimetres, with inches in brackets behind them or without, as every room writes it."""
_PAIR = re.compile(r"(?<![\w.])(?P<mm>-?\d+(?:\.\d+)?) mm \((?P<inch>(?:under )?-?[\d ./]+ in)\)")
_PLACE = re.compile(
    r"(?<![\w.(])(?P<mm>\d+(?:\.\d+)?) mm(?= (?:bump|droop|ahead|behind|above|below|outboard|inboard)\b)"
)
"""A length along a direction, which stands alone because a tape finds it to the nearest sixteenth either way."""


def unit_first(word: str) -> str:
    """The unit that pages are to have first, as a person wrote it. Raises UnitError for what is neither mm nor in."""
    if word not in FIRST:
        raise UnitError(f'{quoted(word)} cannot stand first on a page. Write "mm" or "in".')
    return word


def led_by(text: str, first: str) -> str:
    """A page whose lengths have this unit first, "mm" or "in".

    Rooms write millimetres first and know nothing of who reads; whoever shows a page turns it round here, once. What
    stands in columns stays in them: a turned pair is as long as it was. A length that stands without inches (an offset,
    a tolerance, a sheet's size) stays in millimetres, but for places and positions. Turning twice is turning once.

    >>> led_by("25.4 mm (1 in) from the lip, 40 mm droop; offset -12.0 mm", "in")
    '1 in (25.4 mm) from the lip, 1 9/16 in droop; offset -12.0 mm'
    """
    if first != "in":
        return text
    return _PLACE.sub(lambda found: inch_text(float(found["mm"])), _PAIR.sub(r"\g<inch> (\g<mm> mm)", text))
