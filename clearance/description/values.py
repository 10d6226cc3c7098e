"""The kinds of value that a corner file is made of: lengths, angles, points, words.

Each is read once, here, into millimetres and degrees. A bare number is refused: an inch taken for a millimetre is the
mistake that the file exists to prevent.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Mapping
from functools import partial
from typing import Annotated, TypeVar

from pydantic import BeforeValidator
from pydantic_core import PydanticCustomError

from clearance.description.refusal import as_written
from clearance.errors import InputError
from clearance.units import MM_PER_INCH, angle_deg, circle_text, length_mm, mass_kg, share_of, speed_kmh

MOST_WHEELS = 10**9
"""More than that is no number that was counted."""

Known = TypeVar("Known")
Point3 = tuple[float, float, float]
Point2 = tuple[float, float]


def refused(message: str) -> PydanticCustomError:
    """A refusal that pydantic carries with its place; braces in the message are the user's own, not a template's."""
    return PydanticCustomError("refused", "{message}", {"message": message})


def length(value: object) -> float:
    """A length in mm. Raises PydanticCustomError for what is none or has no unit."""
    return _measured(value, partial(length_mm, most_mm=math.inf), "length", '"120 mm" or "4 3/4 in"')


def angle(value: object) -> float:
    """An angle in degrees. Raises PydanticCustomError for what is none or has no unit."""
    return _measured(value, partial(angle_deg, most_deg=math.inf), "angle", '"33 deg"')


def _measured(value: object, read: Callable[[object], float], what: str, example: str) -> float:
    if not isinstance(value, str) and not finite(value):
        raise refused(f"{as_written(value)} is not a {what}. Write {example}.".replace("a angle", "an angle"))
    try:
        return read(value)
    except InputError as wrong:
        raise refused(str(wrong).replace("a angle", "an angle")) from None


def finite(value: object) -> bool:
    """Whether this is a number that has an end and that arithmetic can hold."""
    try:
        return isinstance(value, (int, float)) and not isinstance(value, bool) and math.isfinite(value)
    except OverflowError:
        # a whole number of hundreds of digits
        return False


def not_negative(value: object) -> float:
    """A length of zero or more."""
    mm = length(value)
    if mm < 0:
        raise below_zero(value, "distance")
    return mm


def positive(value: object) -> float:
    """A length of more than zero."""
    mm = length(value)
    if mm <= 0:
        raise refused(f"{as_written(value)} must be more than zero.")
    return mm


def positive_angle(value: object) -> float:
    """An angle of more than zero."""
    deg = angle(value)
    if deg <= 0:
        raise refused(f"{as_written(value)} must be more than zero.")
    return deg


def not_negative_angle(value: object) -> float:
    """An angle of zero or more."""
    deg = angle(value)
    if deg < 0:
        raise below_zero(value, "angle")
    return deg


def below_zero(value: object, what: str) -> PydanticCustomError:
    """The refusal of a sign where none belongs; `reading` adds which way the key goes, which only the key knows."""
    words = "{found} is below zero. Write the {what} without a sign."
    return PydanticCustomError("below_zero", words, {"found": as_written(value), "what": what})


def rim_diameter(value: object) -> float:
    """The rim's nominal diameter, kept in inches, as the trade codes it."""
    return _inches(value)


def rim_width(value: object) -> float:
    """The rim's nominal width, kept in inches."""
    return _inches(value)


def _inches(value: object) -> float:
    # nine places of an inch are a fortieth of a nanometre: 381 mm is a 15 in rim again
    return round(positive(value) / MM_PER_INCH, 9)


def inches(value: object) -> float:
    """Any length, in inches."""
    return length(value) / MM_PER_INCH


def mass(value: object) -> float:
    """A mass of more than zero, in kilograms."""
    return _more_than_zero(value, mass_kg)


def speed(value: object) -> float:
    """A speed of more than zero, in km/h."""
    return _more_than_zero(value, speed_kmh)


def share(value: object) -> float:
    """A percentage of zero or more, as a fraction."""
    found = _read(value, share_of)
    if found < 0:
        raise below_zero(value, "percentage")
    return found


def _more_than_zero(value: object, reader: Callable[[object], float]) -> float:
    found = _read(value, reader)
    if found <= 0:
        raise refused(f"{as_written(value)} must be more than zero.")
    return found


def _read(value: object, reader: Callable[[object], Known]) -> Known:
    try:
        return reader(value)
    except InputError as wrong:
        raise refused(str(wrong)) from None


def wheels(value: object) -> int:
    """A number of wheels: whole, 1 or more."""
    if isinstance(value, bool) or not isinstance(value, int) or not 1 <= value < MOST_WHEELS:
        raise refused(f"{as_written(value)} is not a number of wheels. Write a whole number, 1 or more.")
    return value


def point(value: object) -> Point3:
    """[ahead, outboard, above] in mm. Raises PydanticCustomError where it is not three lengths."""
    ahead, outboard, above = _several(value, 3, "[ahead, outboard, above]", '["40 mm", "-95 mm", "120 mm"]')
    return ahead, outboard, above


def flat_point(value: object) -> Point2:
    """[ahead, above] in mm. Raises PydanticCustomError where it is not two lengths."""
    ahead, above = _several(value, 2, "[ahead, above]", '["0 mm", "40 mm"]')
    return ahead, above


def _several(value: object, count: int, what: str, example: str) -> list[float]:
    if not isinstance(value, (list, tuple)):
        raise refused(f"{as_written(value)} is not a point {what}. Write {example}.")
    if len(value) != count:
        raise refused(f"a point is {what}, {count} lengths; found {len(value)}. Write {example}.")
    names = what.strip("[]").split(", ")
    found = []
    for name, item in zip(names, value, strict=True):
        try:
            found.append(length(item))
        except PydanticCustomError as wrong:
            raise refused(f"{name}: {wrong.message()}") from None
    return found


def word(value: object) -> str:
    """Text of one character or more."""
    if not isinstance(value, str):
        raise refused(f"{as_written(value)} is not text. Write it between quotes.")
    if not value.strip():
        raise refused("the text is empty. Write something between the quotes.")
    return value.strip()


MOST_LETTERS = 80


def name(value: object) -> str:
    """A name that fits on one line of a table and in a file: text of at most 80 letters, none of them a control."""
    text = word(value)
    if len(text) > MOST_LETTERS:
        raise refused(f"the name has {len(text)} letters; {MOST_LETTERS} fit. Shorten it.")
    if not text.isprintable():
        raise refused("the name has a line break, a tab or another sign that cannot be printed. Leave it out.")
    return text


def flag(value: object) -> bool:
    """true or false."""
    if not isinstance(value, bool):
        raise refused(f"{as_written(value)} is not true or false. Write one of the two, without quotes.")
    return value


def whole(value: object) -> int:
    """A whole number."""
    if not isinstance(value, int) or not finite(value):
        raise refused(f"{as_written(value)} is not a whole number. Write it without quotes and without a unit, as 4.")
    return value


def number(value: object) -> float:
    """A plain number, for what has no unit."""
    if not isinstance(value, (int, float)) or not finite(value):
        raise refused(f"{as_written(value)} is not a number. Write it without quotes and without a unit, as 0.5.")
    return float(value)


_CIRCLE = re.compile(r"(?P<studs>\d+)\s*(?:x|X|\u00d7|on)\s*(?P<diameter>.+)")


def bolt_circle(value: object) -> tuple[int, float]:
    """ "5 x 4.5 in" as (5, 114.3). Raises PydanticCustomError for what is not a number of studs and a length."""
    studs, diameter = circle_parts(value)
    return int(studs[:6]), positive(diameter)


def circle_parts(value: object) -> tuple[str, str]:
    """The number of studs and the diameter of a bolt circle, as they are written."""
    match = _CIRCLE.fullmatch(value.strip()) if isinstance(value, str) else None
    if match is None:
        raise refused(f'{as_written(value)} is not a bolt circle. Write "5 x 4.5 in" or "5 x 114.3 mm".')
    return match["studs"], _read(match["diameter"], lambda text: circle_text(str(text)))


SCALARS = frozenset(
    {
        length,
        not_negative,
        positive,
        rim_diameter,
        rim_width,
        angle,
        not_negative_angle,
        positive_angle,
        mass,
        speed,
        share,
        wheels,
        whole,
        number,
    }
)
"""Readers of one number."""
OF_UNIT: Mapping[str, Callable[[object], float]] = {
    "mm": length,
    "in": inches,
    "deg": angle,
    "kg": mass,
    "km/h": speed,
    "%": share,
    "": number,
}
"""What a number that is kept in this unit was written as."""
NUMERIC = SCALARS | {point, flat_point, bolt_circle}
"""Readers of numbers: a key that is read by one of them has ends."""

EXAMPLES: dict[object, str] = {
    length: '"120 mm"',
    not_negative: '"120 mm"',
    positive: '"120 mm"',
    rim_diameter: '"15 in"',
    rim_width: '"7 in"',
    angle: '"8 deg"',
    not_negative_angle: '"8 deg"',
    point: '["40 mm", "-95 mm", "120 mm"]',
    flat_point: '["0 mm", "40 mm"]',
    word: '"..."',
    name: '"frame rail"',
    whole: "4",
    number: "0.5",
    mass: '"520 kg"',
    speed: '"180 km/h"',
    share: '"6 %"',
    wheels: "4",
    bolt_circle: '"5 x 4.5 in"',
}
"""What a value looks like, for whoever left it out."""

Length = Annotated[float, BeforeValidator(length)]
Distance = Annotated[float, BeforeValidator(not_negative)]
Size = Annotated[float, BeforeValidator(positive)]
RimDiameter = Annotated[float, BeforeValidator(rim_diameter)]
RimWidth = Annotated[float, BeforeValidator(rim_width)]
Angle = Annotated[float, BeforeValidator(angle)]
Turn = Annotated[float, BeforeValidator(not_negative_angle)]
Point = Annotated[Point3, BeforeValidator(point)]
FlatPoint = Annotated[Point2, BeforeValidator(flat_point)]
Word = Annotated[str, BeforeValidator(word)]
Whole = Annotated[int, BeforeValidator(whole)]
Number = Annotated[float, BeforeValidator(number)]
Circle = Annotated[tuple[int, float], BeforeValidator(bolt_circle)]
Name = Annotated[str, BeforeValidator(name)]
Flag = Annotated[bool, BeforeValidator(flag)]
