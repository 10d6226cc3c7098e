"""How sure it is that the part which binds keeps its required gap: by straight lines, as `budget` takes them.

Every doubt that the corner file states, or common practice, moves the gap by its slope; their deviations are joined by
root sum square and drawn from a normal curve. It is of that one part, and no more than that.

Lengths are millimetres, angles degrees.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np

from clearance.answers.budget import DEFAULTS, TAPE_MM, sources_of, tire_doubts
from clearance.gap.found import Gap
from clearance.many.room import PartRoom
from clearance.many.spots import Laid
from clearance.mockup.mockup import MockUp
from clearance.pose import Array
from clearance.suspension.position import BODY
from clearance.tire.tire import Tire

_STEP = 1e-3
_AT_END = 0.5
_BACK = "wheel back"


def sure_of(mockup: MockUp, gap: Gap) -> float:
    """That the part of a gap that was searched keeps its required gap, 0 to 1; `mockup` is as it was measured."""
    sources = sources_of(mockup, (gap,), mockup.terms.uncertainty)
    deviation = math.sqrt(sum((float(one.per_unit[0]) * one.deviation) ** 2 for one in sources))
    mean = sum(float(one.per_unit[0]) * (one.low + one.high) / 2.0 for one in sources)
    stands_mm = gap.at_least_mm if math.isfinite(gap.at_least_mm) else gap.at_most_mm
    return float(_chance(np.array([stands_mm + mean - gap.required_mm]), np.array([deviation]))[0])


def sure_of_laid(mockup: MockUp, tire: Tire, one: PartRoom, laid: Laid, places: np.ndarray, stands_mm: Array) -> Array:
    """(n,): the same of a part at each shift, from its real place (n,) and where its gap stands (n,)."""
    deviation, mean = _doubts(mockup, tire, one, laid, places)
    return _chance(stands_mm + mean - one.part.required_mm, deviation)


def _chance(spare_mm: Array, deviation_mm: Array) -> Array:
    """Of a normal curve about what is spare, the share above nothing."""
    known = deviation_mm >= 1e-9
    shares = [
        0.5 * (1.0 + math.erf(spare / deviation / math.sqrt(2.0))) if sure else float(spare >= 0.0)
        for spare, deviation, sure in zip(spare_mm.tolist(), deviation_mm.tolist(), known.tolist(), strict=True)
    ]
    return np.array(shares)


def _doubts(mockup: MockUp, tire: Tire, one: PartRoom, laid: Laid, places: np.ndarray) -> tuple[Array, Array]:
    """The standard deviation of each gap, and what one-sided doubts move it by on average."""
    stated = mockup.terms.uncertainty.stated
    across, away, with_rim = _toward(one, laid, places)
    slopes = {"backspace": across * with_rim, **_moves(mockup, one, places, across, away)}
    deviations = [slopes[name] * stated.get(name, DEFAULTS[name][0]) / 2.0 for name in slopes]
    part = one.part
    own = part.uncertainty_mm or (TAPE_MM if mockup.terms.uncertainty.parts_mm is None else 0.0)
    own = own or mockup.terms.uncertainty.parts_mm or 0.0
    deviations.append(np.full(len(places), mockup.terms.uncertainty.part_mm.get(part.name, own) / 2.0))
    deviations.append(np.full(len(places), mockup.suspension.uncertainty_mm / 2.0))
    mean = np.zeros(len(places))
    for name, low, high, even in tire_doubts(tire, mockup.terms.uncertainty):
        slope = -0.5 * (np.abs(across) if name == "section_width" else np.maximum(away, 0.0))
        deviations.append(slope * ((high - low) / math.sqrt(12.0) if even else max(abs(low), abs(high)) / 2.0))
        mean += slope * (low + high) / 2.0
    return np.sqrt(np.sum(np.square(deviations), axis=0)), mean


def _toward(one: PartRoom, laid: Laid, places: np.ndarray) -> tuple[Array, Array, Array]:
    """The direction in which each gap grows, along the axis and away from it, and whether it moves with the rim."""
    outline, (along, radius) = laid.outline, one.cover.edge_mm[places].T
    near = outline.chain.near(along - laid.shifts, radius)
    backs = np.array([label == _BACK for label in outline.chain.labels])
    with_rim = ~backs[near.element]
    if outline.disc_mm is None:
        return near.across, near.away, with_rim.astype(float)
    hole, tube = outline.disc_mm
    on_disc = outline.disc_distance(along, radius, laid.shifts) < near.distance
    y = along - np.clip(along, 0.0, np.maximum(laid.shifts, 0.0))
    r = radius - np.clip(radius, hole, tube)
    apart = np.hypot(y, r)
    inside, safe = apart < 1e-9, np.maximum(apart, 1e-9)
    across = np.where(on_disc, np.where(inside, -1.0, y / safe), near.across)
    away = np.where(on_disc, np.where(inside, 0.0, r / safe), near.away)
    return across, away, (with_rim & ~on_disc).astype(float)


def _moves(mockup: MockUp, one: PartRoom, places: np.ndarray, across: Array, away: Array) -> Mapping[str, Array]:
    """What a millimetre or a degree of each measure of the car does to the gap, at real places."""
    path, setting = one.seen.path, one.cover.setting[places]
    point, share = one.cover.point_mm[places], one.cover.share[places][:, None]
    centre, axis = path.at(setting)
    lever = point + share * path.far_at(setting) - centre
    sideways = lever - np.einsum("ij,ij->i", lever, axis)[:, None] * axis
    outward = sideways / np.maximum(np.linalg.norm(sideways, axis=1), 1e-9)[:, None]
    toward = across[:, None] * axis + away[:, None] * outward
    on_body = 1.0 if one.part.rides_on == BODY else 0.0
    swing = np.cross(np.array([-1.0, 0.0, 0.0]), lever) * math.pi / 180.0
    moves = {
        "axle_lengthways": on_body * toward[:, 0],
        "axle_sideways": on_body * toward[:, 1],
        "ride_height": on_body * toward[:, 2],
        "camber": np.einsum("ij,ij->i", toward, swing),
    }
    ends = {0: ("bump_travel", mockup.suspension.cycle.bump_mm), 2: ("steer", mockup.suspension.cycle.steer_deg)}
    for column, number in enumerate(one.seen.moving):
        if number in ends:
            name, (low, high) = ends[number]
            value = setting[:, column]
            if high - low > 2 * _AT_END:
                between = (low + _AT_END < value) & (value < high - _AT_END)
                moves[name] = np.where(between, 0.0, _slope(one, column, places, across, away))
    return moves


def _slope(one: PartRoom, column: int, places: np.ndarray, across: Array, away: Array) -> Array:
    """Change of each gap by one number of its setting."""
    path, setting = one.seen.path, one.cover.setting[places]
    point, share = one.cover.point_mm[places], one.cover.share[places][:, None]
    inward = np.where(setting[:, column] < path.box[column].mean(), _STEP, -_STEP)
    other = setting.copy()
    other[:, column] += inward
    seen = []
    for one_setting in (setting, other):
        centre, axis = path.at(one_setting)
        lever = point + share * path.far_at(one_setting) - centre
        along = np.einsum("ij,ij->i", lever, axis)
        seen.append((along, np.linalg.norm(lever - along[:, None] * axis, axis=1)))
    (along, radial), (along_on, radial_on) = seen
    slope: Array = (across * (along_on - along) + away * (radial_on - radial)) / inward
    return slope
