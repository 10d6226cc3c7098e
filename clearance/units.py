"""Lengths and angles as people write them, and back.

Inside the package every length is millimetres and every angle degrees. A user writes ``4 3/4 in``, ``4-3/4"``,
``120.65 mm``, ``12 cm``, ``1.2 m`` or ``2 ft``; a bare number is refused, because an inch taken for a millimetre is
the mistake that this tool exists to prevent.
"""

from __future__ import annotations

import math
import re
from fractions import Fraction

from clearance.errors import UnitError

MM_PER_INCH = 25.4
KG_PER_POUND = 0.45359237
"""Both exact since 1959 (international yard and pound agreement)."""
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
    "ft": 12 * MM_PER_INCH,
    "foot": 12 * MM_PER_INCH,
    "feet": 12 * MM_PER_INCH,
}
"""A unit as people write it, in millimetres."""
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


def length_mm(text: object) -> float:
    """The length that a person wrote, in millimetres.

    Raises UnitError for a bare number, an unknown unit, or text that is not a length.

    >>> length_mm("4 3/4 in")
    120.64999999999999
    >>> length_mm('-1/2"')
    -12.7
    """
    return _measure(text, LENGTH_UNITS, "length", '"120 mm" or "4 3/4 in"', "mm", "in")


def angle_deg(text: object) -> float:
    """The angle that a person wrote, in degrees.

    Raises UnitError for a bare number, an unknown unit, or text that is not an angle.

    >>> angle_deg("33 deg")
    33.0
    """
    return _measure(text, ANGLE_UNITS, "angle", '"33 deg"', "deg", "rad")


def parted(text: str) -> tuple[str, str]:
    """What a person wrote as its number and its unit, each as written; the unit is empty where there is none.

    >>> parted("4 3/4 in"), parted("-6 %"), parted("12")
    (('4 3/4', 'in'), ('-6', '%'), ('12', ''))
    """
    match = re.match(r"([\d\s./+-]*)(.*)", text.strip(), re.DOTALL)
    assert match is not None
    return match[1].strip(), match[2].strip()


def _measure(text: object, units: dict[str, float], what: str, example: str, first: str, second: str) -> float:
    if isinstance(text, bool) or not isinstance(text, str):
        if isinstance(text, (int, float)) and not isinstance(text, bool):
            number = _shortened(str(text))
            raise UnitError(f'{number} has no unit. Write "{number} {first}" or "{number} {second}".')
        raise UnitError(f"{text!r} is not a {what}. Write {example}.")
    match = _NUMBER.match(text.strip())
    if match is None:
        raise UnitError(f"{text!r} is not a {what}. Write {example}.")
    unit = (match["unit"] or "").strip().rstrip(".").lower()
    if not unit:
        raise UnitError(f'{text!r} has no unit. Write "{text.strip()} {first}" or "{text.strip()} {second}".')
    if unit not in units:
        known = ", ".join(sorted(name for name in units if name.isalpha() and len(name) <= 3))
        raise UnitError(f"{text!r}: the unit {unit!r} is not known for a {what}. Use one of {known}.")
    try:
        found = _value(match, text) * units[unit]
    except (OverflowError, ValueError):
        # more digits than a number can hold
        found = math.inf
    if not math.isfinite(found):
        article = "an" if what[0] in "aeiou" else "a"
        raise UnitError(f"{_shortened(text)!r} is too large to be {article} {what}. Check the number and its unit.")
    return found


def _shortened(text: str, most: int = 40) -> str:
    return text if len(text) <= most else f"{text[: most - 3]}..."


def _value(match: re.Match[str], text: str) -> float:
    denominator = match["d1"] or match["d2"]
    if denominator is not None and int(denominator) == 0:
        raise UnitError(f"{text!r} divides by zero.")
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
    """
    steps = round(abs(mm) / MM_PER_INCH * denominator)
    whole, part = divmod(steps, denominator)
    sign = "-" if mm < 0 and steps else ""
    if part == 0:
        return f"{sign}{whole} in"
    fraction = Fraction(part, denominator)
    text = f"{fraction.numerator}/{fraction.denominator}"
    return f"{sign}{whole} {text} in" if whole else f"{sign}{text} in"


def both(mm: float, *, digits: int = 1) -> str:
    """Millimetres with the inches beside them.

    >>> both(120.65)
    '120.7 mm (4 3/4 in)'
    """
    # adding zero turns a negative zero into a plain one
    return f"{round(mm, digits) + 0.0:.{digits}f} mm ({inch_text(mm)})"
