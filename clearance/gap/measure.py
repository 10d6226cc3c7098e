"""One part against a seen path: the bracket, and its witness put into words.

What the search gives is a setting, a point and two ends. Here the wheel is put at that setting by the suspension
itself, not by the fitted path, and measured once more: the upper end that a user sees can be checked with nothing but
the formula.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache

import numpy as np

from clearance.gap.found import Gap
from clearance.geom.bracket import DEFAULT_WORK, Bracket, bracket
from clearance.geom.profile import Profile
from clearance.geom.tree import Tree
from clearance.mockup.mockup import MockUp
from clearance.mockup.paths import Seen, carried
from clearance.mockup.words import where_text
from clearance.pose import Array, turn_onto
from clearance.suspension.position import BODY, HUB
from clearance.well.part import Part

TOLERANCE_MM = 0.05
"""How wide a bracket may be where nothing else was asked for."""
_TIRE_WORDS = ("tread", "shoulder", "sidewall")


def measured(
    mockup: MockUp,
    part: Part,
    seen: Seen,
    *,
    tolerance_mm: float = TOLERANCE_MM,
    work: int | None = None,
    progress: Callable[[int, float, float], None] | None = None,
) -> Gap:
    """The gap of one part along a path."""
    found = bracket(
        part.triangles_mm,
        seen.path,
        mockup.solid,
        share=None if part.far_end is None else part.far_end.share,
        tolerance_mm=tolerance_mm,
        limits=seen.limits,
        work=DEFAULT_WORK if work is None else work,
        tree=tree_of(part),
        progress=progress,
    )
    return _in_words(mockup, part, seen, found)


@lru_cache(maxsize=32)
def tree_of(part: Part) -> Tree:
    """The part's triangles in a tree, built once."""
    return Tree(part.triangles_mm)


def _in_words(mockup: MockUp, part: Part, seen: Seen, found: Bracket) -> Gap:
    position = seen.position(found.setting)
    shift = seen.shift_mm(found.setting)
    on_part = carried(mockup.suspension, part, found.point_mm, found.share, position, shift)
    hub = mockup.suspension.pose(position.row()[None], HUB)
    centre = hub.origin_mm[0] + np.array([*shift, 0.0])
    turn = turn_onto(hub.axis[0])
    local = turn.T @ (on_part - centre)
    distance, foot, normal, element = mockup.solid.nearest(local[None])
    toward = turn @ normal[0]
    label = mockup.solid.chain.labels[int(element[0])]
    surface = on_part - part.skin_mm * toward
    return Gap(
        part=part.name,
        required_mm=part.required_mm,
        at_least_mm=min(found.at_least_mm, float(distance[0])) - part.skin_mm,
        at_most_mm=float(distance[0]) - part.skin_mm,
        position=position,
        shift_mm=shift,
        on_part_mm=surface,
        on_tire_mm=centre + turn @ foot[0],
        toward_part=toward,
        region=label,
        where=where_text(surface, right_hand=mockup.right_hand),
        per_mm=_per_mm(mockup, seen, found, normal[0], foot[0], label, part),
        uncertainty_mm=part.uncertainty_mm + (mockup.suspension.uncertainty_mm if part.rides_on == BODY else 0.0),
        finished=found.finished,
        swallowed=found.at_most_mm > 0 and swallows(part, on_part, centre),
        boxes=found.boxes,
    )


def _per_mm(
    mockup: MockUp, seen: Seen, found: Bracket, normal: Array, foot: Array, label: str, part: Part
) -> dict[str, float]:
    """What one millimetre of each measure does to this gap, from the direction of contact (first order)."""
    radial = float(np.hypot(foot[0], foot[2]))
    outward = float(normal[1])
    upward = float(normal[0] * foot[0] + normal[2] * foot[2]) / max(radial, 1e-9)
    per_mm = {"backspace": outward, "offset": outward, "section_width": 0.0, "overall_diameter": 0.0}
    if any(word in label for word in _TIRE_WORDS):
        low, high, bottom, top = _tire_bounds(mockup.solid.profile)
        across = (float(foot[1]) - (low + high) / 2) / (high - low)
        up = (radial - bottom) / (top - bottom)
        per_mm["section_width"] = -outward * across
        per_mm["overall_diameter"] = -upward * up / 2
    per_mm.update(_by_position(mockup, seen, found, part))
    return {key: value + 0.0 for key, value in per_mm.items()}


def _tire_bounds(profile: Profile) -> tuple[float, float, float, float]:
    """Least and greatest y and r of the rubber alone."""
    rubber = [e for e in profile.surfaces if any(word in e.label for word in _TIRE_WORDS)]
    outline = np.concatenate([e.points(0.01) for e in rubber])
    low, high = float(outline[:, 0].min()), float(outline[:, 0].max())
    return low, high, float(outline[:, 1].min()), float(outline[:, 1].max())


_NUMBER_NAMES = ("bump", "other_bump", "steer_per_deg")


def _by_position(mockup: MockUp, seen: Seen, found: Bracket, part: Part) -> dict[str, float]:
    """Slope of the gap at the witness by each number of the position that varies, by central differences."""
    slopes = {}
    for column, number in enumerate(seen.moving):
        low, high = seen.path.box[column]
        step = 1e-4 * (high - low)
        settings = np.array([found.setting, found.setting])
        settings[0, column] -= step
        settings[1, column] += step
        centre, axis = seen.path.at(settings)
        place = np.array(found.point_mm) + found.share * seen.path.far_at(settings)
        offset = place - centre
        along = np.einsum("ij,ij->i", offset, axis)
        radial = np.sqrt(np.maximum(np.einsum("ij,ij->i", offset, offset) - along**2, 0.0))
        before, after = mockup.solid.chain.near(along, radial).distance
        slopes[_NUMBER_NAMES[number]] = float((after - before) / (2 * step))
    return slopes


def swallows(part: Part, on_part: Array, centre: Array) -> bool:
    """Does a closed part hold the wheel's centre inside it, though the surfaces never cross?

    Told by the solid angle that the part fills as seen from the centre (van Oosterom and Strackee, IEEE Trans. Biomed.
    Eng. 30, 1983): all of it from inside a closed surface, none from outside, something between from inside an open
    one. Only a surface that is closed to a fraction of a percent counts.
    """
    triangles = part.triangles_mm
    if len(triangles) < 4 or np.any(triangles.min(axis=(0, 1)) > centre) or np.any(triangles.max(axis=(0, 1)) < centre):
        return False
    a, b, c = (triangles[:, i] - centre for i in range(3))
    la, lb, lc = (np.linalg.norm(v, axis=1) for v in (a, b, c))
    top = np.einsum("ij,ij->i", a, np.cross(b, c))
    bottom = la * lb * lc
    bottom = bottom + np.einsum("ij,ij->i", a, b) * lc
    bottom = bottom + np.einsum("ij,ij->i", b, c) * la + np.einsum("ij,ij->i", c, a) * lb
    turns = float(2 * np.arctan2(top, bottom).sum() / (4 * np.pi))
    return abs(abs(turns) - 1.0) < 0.005
