"""The outline of a solid of revolution: one closed chain of lines and arcs in the half plane (y, r).

y runs along the axis, r away from it; r is never negative. The chain keeps the solid on its left when y points right
and r points up: along the axis towards +y, up the +y side, back over the top, down the -y side. A stretch that lies on
the axis (r = 0) closes the chain but is no surface. Lengths are millimetres.

* element - a `Line` or an `Arc`, with the name of what it is a surface of ("tread", "outer sidewall")
* profile - the whole chain
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from clearance.errors import ShapeError

Array = npt.NDArray[np.float64]
Point = tuple[float, float]

JOIN_MM = 1e-6
"""Two ends closer than this are one point; it is below every length that this package prints."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """A straight element from `start` to `end`."""

    start: Point
    end: Point
    label: str = ""

    @property
    def length_mm(self) -> float:
        """How long it is."""
        return math.dist(self.start, self.end)

    def points(self, chord_mm: float) -> Array:
        """(n, 2) points along it, both ends included; a line needs no more than its ends."""
        return np.array([self.start, self.end])


@dataclass(frozen=True, slots=True, kw_only=True)
class Arc:
    """A circular element about `centre`; `ccw` where it turns left, so that the solid lies on the centre's side."""

    start: Point
    end: Point
    centre: Point
    ccw: bool = True
    label: str = ""

    @property
    def radius_mm(self) -> float:
        """Distance from the centre to the start."""
        return math.dist(self.start, self.centre)

    @property
    def start_rad(self) -> float:
        """Direction from the centre to the start."""
        return math.atan2(self.start[1] - self.centre[1], self.start[0] - self.centre[0])

    @property
    def sweep_rad(self) -> float:
        """Signed angle travelled, positive where `ccw`; never a whole turn."""
        end = math.atan2(self.end[1] - self.centre[1], self.end[0] - self.centre[0])
        sweep = (end - self.start_rad) % (2 * math.pi)
        return sweep if self.ccw else sweep - 2 * math.pi if sweep else 0.0

    @property
    def length_mm(self) -> float:
        """How long it is."""
        return abs(self.sweep_rad) * self.radius_mm

    def points(self, chord_mm: float) -> Array:
        """(n, 2) points along it, both ends included, no chord further than `chord_mm` from the arc."""
        half = math.acos(max(-1.0, 1.0 - min(chord_mm / max(self.radius_mm, 1e-12), 1.0)))
        count = max(1, math.ceil(abs(self.sweep_rad) / (2 * half))) if half > 0 else 1
        share = np.arange(count + 1) * (1.0 / count)
        share[-1] = 1.0
        angle = self.start_rad + self.sweep_rad * share
        points = np.array(self.centre) + self.radius_mm * np.column_stack([np.cos(angle), np.sin(angle)])
        points[0], points[-1] = self.start, self.end
        return points


Element = Line | Arc


@dataclass(frozen=True, slots=True, kw_only=True)
class Profile:
    """One closed chain of elements; see the module for its direction.

    Raises ShapeError where the chain is not closed, dips below the axis, or runs the wrong way round.
    """

    elements: tuple[Element, ...]

    def __post_init__(self) -> None:
        if len(self.elements) < 2:
            raise ShapeError(f"a profile needs at least two elements; found {len(self.elements)}.")
        for one, following in zip(self.elements, self.elements[1:] + self.elements[:1], strict=True):
            if math.dist(one.end, following.start) > JOIN_MM:
                raise ShapeError(
                    f"the profile is open: {one.label or 'an element'} ends at ({one.end[0]:.3f}, {one.end[1]:.3f})"
                    f" and {following.label or 'the next'} starts at"
                    f" ({following.start[0]:.3f}, {following.start[1]:.3f})."
                )
        outline = self.outline(0.05)
        if not np.all(np.isfinite(outline)):
            raise ShapeError("the profile has a coordinate that is not a number.")
        if outline[:, 1].min() < -JOIN_MM:
            raise ShapeError(f"the profile dips {-outline[:, 1].min():.3f} mm below its axis.")
        if _area(outline) <= 0:
            raise ShapeError("the profile runs the wrong way round: the solid must lie on its left.")

    @property
    def surfaces(self) -> tuple[Element, ...]:
        """The elements that are surface: all but what lies on the axis or has no length."""
        return tuple(e for e in self.elements if e.length_mm > JOIN_MM and not (isinstance(e, Line) and _on_axis(e)))

    @property
    def bounds(self) -> tuple[float, float, float, float]:
        """(least y, greatest y, least r, greatest r), exact for arcs too."""
        ys: list[float] = []
        rs: list[float] = []
        for element in self.elements:
            points = [element.start, element.end]
            if isinstance(element, Arc):
                points += [p for p in _extremes(element) if _passes(element, p)]
            ys += [p[0] for p in points]
            rs += [p[1] for p in points]
        return min(ys), max(ys), min(rs), max(rs)

    def outline(self, chord_mm: float) -> Array:
        """(n, 2) points around the chain, the first not repeated; no chord further than `chord_mm` from it."""
        return np.concatenate([element.points(chord_mm)[:-1] for element in self.elements])

    def moved(self, along_mm: float) -> Profile:
        """The same profile shifted along the axis."""

        def shift(p: Point) -> Point:
            return (p[0] + along_mm, p[1])

        moved: list[Element] = []
        for e in self.elements:
            if isinstance(e, Arc):
                moved.append(
                    Arc(start=shift(e.start), end=shift(e.end), centre=shift(e.centre), ccw=e.ccw, label=e.label)
                )
            else:
                moved.append(Line(start=shift(e.start), end=shift(e.end), label=e.label))
        return Profile(elements=tuple(moved))


def polygon(points: npt.ArrayLike, label: str = "") -> Profile:
    """A profile of straight elements through (n, 2) points, closed from the last to the first."""
    ring = [(float(y), float(r)) for y, r in np.asarray(points, dtype=float)]
    return Profile(
        elements=tuple(Line(start=a, end=b, label=label) for a, b in zip(ring, ring[1:] + ring[:1], strict=True))
    )


def _on_axis(line: Line) -> bool:
    return abs(line.start[1]) <= JOIN_MM and abs(line.end[1]) <= JOIN_MM


def _area(ring: Array) -> float:
    y, r = ring[:, 0], ring[:, 1]
    return float(np.sum(y * np.roll(r, -1) - np.roll(y, -1) * r)) / 2


def _extremes(arc: Arc) -> list[Point]:
    (y, r), radius = arc.centre, arc.radius_mm
    return [(y + radius, r), (y - radius, r), (y, r + radius), (y, r - radius)]


def _passes(arc: Arc, point: Point) -> bool:
    angle = math.atan2(point[1] - arc.centre[1], point[0] - arc.centre[0])
    ahead = (angle - arc.start_rad) % (2 * math.pi)
    sweep = arc.sweep_rad
    return ahead <= sweep if sweep >= 0 else (2 * math.pi - ahead) <= -sweep
