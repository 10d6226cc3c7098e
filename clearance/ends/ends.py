"""What a number of a corner file can be, and the words for one that is not.

* hard ends  - no road vehicle passes them: a number outside is a slip, and is refused with both ends
* usual ends - most cars and trucks lie between them: a number outside is taken, and said at the top of the answer

`families` lists the ends of every kind of number; a key is declared with one of them. Values are in the unit that the
package keeps (mm, deg, inches of a rim, kg, km/h, a fraction); words are in the unit that the person wrote.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace

from clearance.units import ANGLE_UNITS, LENGTH_UNITS, MASS_UNITS, MM_PER_INCH, SHARE_UNITS, SPEED_UNITS, parted

Step = str | int

UNITS: Mapping[str, Mapping[str, float]] = {
    "mm": LENGTH_UNITS,
    "in": {unit: size / MM_PER_INCH for unit, size in LENGTH_UNITS.items()},
    "deg": ANGLE_UNITS,
    "kg": MASS_UNITS,
    "km/h": SPEED_UNITS,
    "%": SHARE_UNITS,
    "": {"": 1.0},
}
"""The unit that a value is kept in: every unit that it may be written in, and how much of the kept one that is."""

_MEANT = {"mm": ("mm", "in", "cm"), "in": ("in", "mm"), "kg": ("kg", "lb"), "km/h": ("km/h", "mph")}
_ROUNDING = 1e-9
MOST_LETTERS = 40
"""Of a number, in a message."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Ends:
    """How large one kind of number can be."""

    what: str
    """What the number is, with its article: "an offset"."""
    least: float
    most: float
    usual: tuple[float, float]
    """Least and most on most cars and trucks; within the hard ends."""
    unit: str
    """What the value is kept in: one of `UNITS`."""
    source: str
    """Where the ends come from, in a word."""
    of: str = "road vehicle"
    """What has such numbers."""
    minus: str = ""
    """What a minus sign means, where one may be written."""

    def __post_init__(self) -> None:
        low, high = self.usual
        if not self.least <= low < high <= self.most or self.unit not in UNITS:
            raise ValueError(f"{self.what}: {self.least}, {self.usual}, {self.most} {self.unit} are no ends")

    def holds(self, value: float) -> bool:
        """Whether some road vehicle has such a number."""
        room = _ROUNDING * max(1.0, abs(self.least), abs(self.most))
        return self.least - room <= value <= self.most + room

    def is_usual(self, value: float) -> bool:
        """Whether most have one like it."""
        low, high = self.usual
        room = _ROUNDING * max(1.0, abs(low), abs(high))
        return low - room <= value <= high + room

    def span(self, ends: tuple[float, float], written: str = "") -> str:
        """Two ends in words, in the unit of what was written; in the kept one where that is not known.

        >>> from clearance.ends.families import OFFSET
        >>> OFFSET.span((OFFSET.least, OFFSET.most), "3 in"), OFFSET.span(OFFSET.usual)
        ('-7.87 in to 7.87 in', '-80 mm to 80 mm')
        """
        unit = parted(written)[1].rstrip(".").lower()
        unit = unit if unit in UNITS[self.unit] else self.unit
        shown = {'"': "in", "\u2033": "in", "\u201d": "in", "\u00b0": "deg"}.get(unit, unit)
        low, high = (_plain(end / UNITS[self.unit].get(unit, 1.0)) for end in ends)
        return f"{low} {shown} to {high} {shown}" if shown else f"{low} to {high}"

    @property
    def hard(self) -> tuple[float, float]:
        """Least and most that any road vehicle has."""
        return self.least, self.most


def _plain(number: float) -> str:
    """Three figures, without an exponent: 1300, 7.87, 0.05."""
    rounded = float(f"{number:.3g}") + 0.0
    return f"{rounded:.0f}" if abs(rounded) >= 1000 else f"{rounded:g}"


def turned_over(ends: Ends) -> Ends:
    """The ends of the same number taken the other way: a height where the key is a depth.

    >>> from clearance.ends.families import SHEET_BELOW
    >>> turned_over(SHEET_BELOW).usual
    (-1200, 250)
    """
    low, high = ends.usual
    return replace(ends, least=-ends.most, most=-ends.least, usual=(-high, -low), minus="")


@dataclass(frozen=True, slots=True, kw_only=True)
class Point:
    """The ends of a point's coordinates, each on its own."""

    what: str
    axes: Mapping[str, Ends] = field(hash=False)
    """The name of each coordinate, in order: its ends."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Circle:
    """The ends of a bolt circle, "5 x 4.5 in"."""

    studs: Ends
    diameter: Ends


@dataclass(frozen=True, slots=True, kw_only=True)
class Number:
    """One number of a file: where it stands, how it was written, what it is, and its ends."""

    path: tuple[Step, ...]
    text: str
    """As the person wrote it: "3 3/4 in"."""
    value: float
    ends: Ends
    axis: str = ""
    """Which coordinate of a point it is."""

    @property
    def refusal(self) -> str:
        """Why it cannot be, with both ends; empty where it can."""
        if self.ends.holds(self.value):
            return ""
        return (
            f"{self._words}: no {self.ends.of} passes {self.ends.span(self.ends.hard, self.text)}."
            f" Check the number{' and its unit' if self.ends.unit else ''}.{self._meant}"
        )

    @property
    def doubt(self) -> str:
        """What is unusual about it, with what is usual; empty where nothing is."""
        if self.ends.is_usual(self.value):
            return ""
        sign = f" {self.ends.minus[:1].upper()}{self.ends.minus[1:]}." if self.value < 0 and self.ends.minus else ""
        return (
            f"{self._words} is unusual: {self.ends.span(self.ends.usual, self.text)} is usual."
            f" Check the number{', its sign and its unit' if self.ends.unit else ''}.{sign}{self._meant}"
        )

    @property
    def _words(self) -> str:
        text = self.text if len(self.text) <= MOST_LETTERS else f"{self.text[: MOST_LETTERS - 3]}..."
        return f"{self.ends.what}{f', {self.axis},' if self.axis else ''} of {text}"

    @property
    def _meant(self) -> str:
        """What was probably meant: the same digits in another unit, or with the other sign, where that is usual."""
        for text, value in self._readings():
            if self.ends.is_usual(value):
                return f' Did you mean "{text}"?'
        return ""

    def _readings(self) -> Iterator[tuple[str, float]]:
        digits, unit = parted(self.text)
        if not digits or not unit:
            return
        sizes = UNITS[self.ends.unit]
        written = sizes.get(unit.rstrip(".").lower())
        for other in _MEANT.get(self.ends.unit, ()):
            if written is not None and sizes[other] != written:
                yield f"{digits} {other}", self.value / written * sizes[other]
        yield (f"{digits.lstrip('-+ ')} {unit}" if digits.startswith("-") else f"-{digits} {unit}"), -self.value
