"""While a hand is on a slider: what is sure of every gap before it has been measured.

A gap that was certified holds for another corner too, less what lies between the two:

* the solid  - where the new tire and wheel stay within h of the old ones, no gap is less by more than h
* the part   - where no corner of its triangles has moved by more than d, no gap is less by more than d
* the cycle  - what clears over a longer travel and wider locks clears over shorter ones

The best of all that was certified so far counts. Below zero such a bound says nothing of use: a depth may grow by more
than what was added, where a hollow is filled; so it is given only where it still leaves room. The upper end is a gap
that was found: the part is measured to the wheel where it came closest before.

Lengths are millimetres. A bound is less by the tolerance too, so that it is never above what is certified later.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from clearance.defaults import TOLERANCE_MM
from clearance.gap.found import Gap
from clearance.gap.still import at_position
from clearance.geom.revolve import Solid
from clearance.mockup.mockup import MockUp
from clearance.mockup.paths import carried, posed
from clearance.mockup.words import where_text
from clearance.pose import Array, turn_onto
from clearance.steady import steady
from clearance.suspension.position import HUB, Cycle, Position
from clearance.well.part import Part

_STEP_MM = 1.0
"""Between the places of the outline that are looked at; half of it is lost at most."""
_CHORD_MM = 0.02
"""How far those places lie inside a round outline at most."""
_ROUNDING_MM = 2e-3
_WHEELS = 3
"""Wheels that a bound is taken from, of all that were certified."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Certified:
    """A corner whose gaps were certified over its whole cycle."""

    mockup: MockUp
    gaps: tuple[Gap, ...]


def grown_mm(before: Solid, after: Solid) -> float:
    """How far outside of the one solid the other reaches anywhere, or a little more; 0 where it stays inside.

    Between two places on the outline the distance to a solid grows by no more than the way.
    """
    if before is after or before.profile.elements == after.profile.elements:
        return 0.0
    places = _closely(after.profile.outline(_CHORD_MM))
    points = np.stack([np.abs(places[:, 1]), places[:, 0], np.zeros(len(places))], axis=1)
    far = before.distance(points)
    ways = np.hypot(*(places[1:] - places[:-1]).T)
    most = float(((far[:-1] + far[1:] + ways) / 2.0).max(initial=float(far.max())))
    return max(0.0, most + _CHORD_MM)


def _closely(outline: Array) -> Array:
    """The outline closed, with places no further apart than _STEP_MM."""
    ring = np.concatenate([outline, outline[:1]])
    step = ring[1:] - ring[:-1]
    counts = np.maximum(1, np.ceil(np.hypot(step[:, 0], step[:, 1]) / _STEP_MM)).astype(int)
    first = np.concatenate([[0], np.cumsum(counts)[:-1]])
    share = (np.arange(counts.sum()) - np.repeat(first, counts)) / np.repeat(counts, counts)
    places = np.repeat(ring[:-1], counts, axis=0) + share[:, None] * np.repeat(step, counts, axis=0)
    return np.concatenate([places, ring[-1:]])


def moved_mm(before: Part, after: Part) -> float | None:
    """How far a part has moved at most, anywhere; None where that is not known."""
    if before is after:
        return 0.0
    if not _alike(before, after):
        return None
    way = np.linalg.norm(after.triangles_mm - before.triangles_mm, axis=-1)
    thicker = abs(after.skin_mm - before.skin_mm) + abs(after.drawn_mm - before.drawn_mm)
    return float(way.max(initial=0.0)) + thicker


def _alike(before: Part, after: Part) -> bool:
    """Whether two parts differ in places alone, and in nothing that places do not tell of."""
    if before.triangles_mm.shape != after.triangles_mm.shape or before.rides_on != after.rides_on:
        return False
    odd = (before.far_end, after.far_end, before.holes or None, after.holes or None)
    return all(one is None for one in odd) or before is after


def within(inner: Cycle, outer: Cycle) -> bool:
    """Does one cycle stay inside another?"""
    ends = zip(inner.box, outer.box, strict=True)
    return all(low >= least and high <= most for (low, high), (least, most) in ends)


def at_least_mm(mockup: MockUp, name: str, known: Certified, grown: float) -> float | None:
    """What the certified gap of one part leaves of it in another mock-up; None where it leaves nothing.

    `grown` is how far the new solid reaches outside of the known one. Both corners move alike.
    """
    part = mockup.part(name)
    gap = next((gap for gap in known.gaps if gap.part == name), None)
    if gap is None or not _tells(gap, part) or not within(mockup.suspension.cycle, known.mockup.suspension.cycle):
        return None
    moved = moved_mm(known.mockup.part(name), part)
    if moved is None:
        return None
    found = gap.at_least_mm - grown - moved - _more_unmeasured_mm(mockup, known.mockup, part) - gap.tolerance_mm
    return found - _ROUNDING_MM if found > _ROUNDING_MM else None


def _tells(gap: Gap, part: Part) -> bool:
    """Whether a certified gap says anything of the part elsewhere."""
    if gap.swallowed or part.unseen or not math.isfinite(gap.at_least_mm):
        return False
    # of a part that was hit, what its holes could hide was not asked
    return not part.holes or gap.at_most_mm >= 0.0


def _more_unmeasured_mm(mockup: MockUp, known: MockUp, part: Part) -> float:
    """How much further a larger wheel is carried by links that were not measured."""
    unmeasured = known.unmeasured
    if unmeasured is None:
        return 0.0
    reach, before = mockup.solid.reach_mm, known.solid.reach_mm
    return max(
        0.0,
        unmeasured.off_mm(part.rides_on, reach) - unmeasured.off_mm(part.rides_on, before),
        unmeasured.moved_mm(part.rides_on, reach) - unmeasured.moved_mm(part.rides_on, before),
    )


@steady
def meanwhile(mockup: MockUp, known: Sequence[Certified]) -> tuple[Gap, ...]:
    """The gap of every part as far as it is sure, from corners that move alike; the last of them is the nearest.

    Both ends hold: the lower is minus infinity where nothing is known, the upper was found.
    """
    last = {gap.part: (gap, one.mockup.part(gap.part)) for one in known for gap in one.gaps}
    known = _alike_enough(mockup, known)
    solids = {one.mockup.solid: 0.0 for one in known}
    for solid in solids:
        solids[solid] = grown_mm(solid, mockup.solid)
    grown = [solids[one.mockup.solid] for one in known]
    found = []
    for part in mockup.parts:
        lows = [at_least_mm(mockup, part.name, one, more) for one, more in zip(known, grown, strict=True)]
        least = max((low for low in lows if low is not None), default=-math.inf)
        found.append(_between(mockup, part, least, *last.get(part.name, (None, None))))
    return tuple(found)


def _alike_enough(mockup: MockUp, known: Sequence[Certified]) -> list[Certified]:
    """Those on the few wheels that are most like this one: each wheel costs time, and a far one says little."""

    def apart(one: Certified) -> float:
        pairs = zip(_sizes(one.mockup), _sizes(mockup), strict=True)
        return sum(abs(there - here) for there, here in pairs)

    wheels = dict.fromkeys(one.mockup.solid for one in sorted(known, key=apart))
    nearest = list(wheels)[:_WHEELS]
    return [one for one in known if one.mockup.solid in nearest]


def _sizes(mockup: MockUp) -> tuple[float, ...]:
    wheel, tire = mockup.wheel, mockup.tire
    return wheel.offset_mm, wheel.overall_width_mm, tire.overall_diameter_mm / 2.0, tire.section_width_mm


def _held(position: Position, cycle: Cycle) -> Position:
    """The position, or the nearest to it that the cycle has."""
    bump, other, steer = (
        min(max(value, low), high) for value, (low, high) in zip(position.row(), cycle.box, strict=True)
    )
    return Position(bump_mm=float(bump), other_bump_mm=float(other), steer_deg=float(steer))


def _between(mockup: MockUp, part: Part, least_mm: float, last: Gap | None, known: Part | None) -> Gap:
    """The gap between what is sure and what is found at the place where it was least before."""
    place = _held(Position() if last is None else last.position, mockup.suspension.cycle)
    if last is None or last.swallowed or (part is not known and not _same_shape(part, known)):
        here = at_position(mockup.as_given(), place, tolerance_mm=TOLERANCE_MM, parts=(part.name,))[0]
    else:
        here = _at_witness(mockup.as_given(), part, last, place)
    most = here.at_most_mm
    if mockup.unmeasured is not None and place != Position():
        most += mockup.unmeasured.moved_mm(part.rides_on, mockup.solid.reach_mm)
    if here.swallowed:
        return replace(here, at_least_mm=-math.inf)
    return replace(here, at_least_mm=min(least_mm, most), at_most_mm=most)


def _same_shape(part: Part, known: Part | None) -> bool:
    """Whether it is the very same surface, whatever it must keep."""
    return known is not None and moved_mm(known, part) == 0.0


def _at_witness(mockup: MockUp, part: Part, last: Gap, place: Position) -> Gap:
    """The gap at one place of the part and one position of the wheel: found, so the true one is no more."""
    kept = place == last.position
    shift = last.shift_mm if kept else (0.0, 0.0)
    seen = carried(mockup.suspension, part, last.at_rest_mm, last.share, place, shift)
    hub = posed(mockup.suspension, place.row()[None], HUB)
    centre = hub.origin_mm[0] + np.array([*shift, 0.0])
    turn = turn_onto(hub.axis[0])
    distance, foot, normal, element = mockup.solid.nearest((turn.T @ (seen - centre))[None])
    toward = turn @ normal[0]
    surface = seen - part.skin_mm * toward
    most = float(distance[0]) - part.skin_mm
    return Gap(
        part=part.name,
        required_mm=part.required_mm,
        at_least_mm=-math.inf,
        at_most_mm=most,
        position=place,
        shift_mm=shift,
        on_part_mm=surface,
        at_rest_mm=last.at_rest_mm,
        share=last.share,
        on_tire_mm=centre + turn @ foot[0],
        toward_part=toward,
        region=mockup.solid.chain.labels[int(element[0])],
        where=where_text(surface, right_hand=mockup.right_hand),
        uncertainty_mm=last.uncertainty_mm,
        unseen=part.unseen,
        unmeasured=last.unmeasured,
        motion_checked=last.motion_checked,
    )
