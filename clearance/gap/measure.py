"""One part against a seen path: the bracket, and its witness put into words.

What the search gives is a setting, a point and two ends. Here the wheel is put at that setting by the suspension
itself, not by the fitted path, and measured once more: the upper end that a user sees can be checked with nothing but
the formula.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np

from clearance.defaults import TOLERANCE_MM
from clearance.gap.found import Gap, Hidden
from clearance.gap.memory import Entry
from clearance.gap.trees import tree_of
from clearance.geom.bracket import DEFAULT_WORK, Bracket, bracket, reached
from clearance.geom.profile import Profile
from clearance.geom.witness import Roughly
from clearance.mockup.mockup import MockUp
from clearance.mockup.paths import Seen, carried, seen_at, seen_by
from clearance.mockup.words import where_text
from clearance.pose import Array, turn_onto
from clearance.suspension.position import BODY, HUB, KNUCKLE, Position
from clearance.suspension.unmeasured import Unmeasured
from clearance.well.part import Hole, Part

_CLOSER = (0.1, 0.01)
"""Shares of the tolerance at which it is looked again whether a part touches."""
_HOLE_MM = 0.5
_HOLE_WORK = 40_000
"""What a hole could hide is guessed, not measured: it is asked for roughly."""
_TIRE_WORDS = ("tread", "shoulder", "sidewall")


def measured(
    mockup: MockUp,
    part: Part,
    seen: Seen,
    *,
    tolerance_mm: float = TOLERANCE_MM,
    work: int | None = None,
    progress: Callable[[int, float, float], None] | None = None,
    entry: Entry | None = None,
    roughly: Roughly | None = None,
) -> Gap:
    """The gap of one part along a path, what its holes could hide taken in; `entry` is what is known of it already, and
    `roughly` how closely a deep hit is to be told."""

    def searched(closely_mm: float) -> Bracket:
        return bracket(
            part.triangles_mm,
            seen.path,
            mockup.solid,
            share=None if part.far_end is None else part.far_end.share,
            tolerance_mm=closely_mm,
            limits=seen.limits,
            work=DEFAULT_WORK if work is None else work,
            tree=tree_of(part) if entry is None else entry.tree,
            progress=progress,
            kept=None if entry is None else entry.kept,
            roughly=roughly,
        )

    found = searched(max(tolerance_mm / 2.0, tolerance_mm - part.drawn_mm))
    for closer in _CLOSER:
        # whether it touches is worth another look; whether it keeps a required gap is read carefully instead
        touches = found.at_least_mm - part.skin_mm < 0.0 <= found.at_most_mm - part.skin_mm
        if not (touches and found.finished):
            break
        found = searched(closer * tolerance_mm)
    gap = _in_words(mockup, part, seen, found, tolerance_mm)
    gap = _with_what_is_hidden(mockup, part, seen, gap)
    return gap if mockup.unmeasured is None else _at_worst(mockup, part, seen, gap, mockup.unmeasured)


def _at_worst(mockup: MockUp, part: Part, seen: Seen, gap: Gap, unmeasured: Unmeasured) -> Gap:
    """The gap where the unmeasured links do the worst that they may.

    Every move along and across is among the positions of a cycle already; what else there may be is taken off.
    """
    if unmeasured.travel:
        # what goes along with the wheel is as near as it is, wherever the wheel goes
        carried_along = part.rides_on == KNUCKLE
        return gap if carried_along else replace(gap, at_least_mm=-math.inf, unmeasured=unmeasured.words)
    reach = mockup.solid.reach_mm
    off = unmeasured.off_mm(part.rides_on, reach)
    if not seen.moving and seen.position(np.zeros(0)) != Position():
        off = unmeasured.moved_mm(part.rides_on, reach)
    if (not seen.moving and seen.position(np.zeros(0)) == Position()) or not unmeasured.moved_mm(part.rides_on, reach):
        return gap
    words = unmeasured.words
    return replace(gap, at_least_mm=gap.at_least_mm - off, at_most_mm=gap.at_most_mm - off, unmeasured=words)


def as_known(mockup: MockUp, part: Part, gap: Gap) -> Gap:
    """A gap at worst over the cycle, with an upper end that holds whatever the unmeasured links do.

    The wheel does stand at ride height, and is never further than so much from where the nominal motion has it.
    """
    unmeasured = mockup.unmeasured
    if unmeasured is None or not gap.unmeasured or unmeasured.travel:
        return gap
    given = mockup.as_given()
    nominal, here = (
        measured(given, part, seen, tolerance_mm=gap.tolerance_mm).at_most_mm
        for seen in (seen_by(given, part), seen_at(given, part, Position()))
    )
    most = min(nominal + unmeasured.moved_mm(part.rides_on, mockup.solid.reach_mm), here)
    return replace(gap, at_most_mm=max(gap.at_least_mm, most))


def _with_what_is_hidden(mockup: MockUp, part: Part, seen: Seen, gap: Gap) -> Gap:
    """The gap with its lower end brought down to what nobody has measured."""
    if gap.at_most_mm < 0.0:
        return gap
    if part.unseen:
        return replace(gap, at_least_mm=-math.inf, unseen=True)
    hidden = hidden_within(mockup, part, seen, gap.at_least_mm)
    return replace(gap, at_least_mm=hidden[0].at_least_mm, hidden=hidden) if hidden else gap


def hidden_within(mockup: MockUp, part: Part, seen: Seen, nearer_than_mm: float) -> tuple[Hidden, ...]:
    """The holes that could hide something nearer than what was measured, the nearest first."""
    if not part.holes:
        return ()
    every = np.concatenate([hole.triangles_mm for hole in part.holes])
    owner = np.repeat(np.arange(len(part.holes)), [len(hole.triangles_mm) for hole in part.holes])
    furthest = max(hole.stands_out_mm for hole in part.holes)
    near = reached(
        every,
        seen.path,
        mockup.solid,
        nearer_than_mm=nearer_than_mm + furthest,
        doubt_mm=_HOLE_MM,
        limits=seen.limits,
    )
    rows = np.unique(owner[near.triangle]) if near.finished else np.arange(len(part.holes))
    found = [_hidden(mockup, part.holes[int(row)], seen) for row in rows]
    return tuple(sorted((one for one in found if one.at_least_mm < nearer_than_mm), key=lambda one: one.at_least_mm))


def _hidden(mockup: MockUp, hole: Hole, seen: Seen) -> Hidden:
    nearest = bracket(
        hole.triangles_mm,
        seen.path,
        mockup.solid,
        tolerance_mm=_HOLE_MM,
        limits=seen.limits,
        work=_HOLE_WORK,
        deep_work=_HOLE_WORK,
    )
    return Hidden(
        at_least_mm=nearest.at_least_mm - hole.stands_out_mm,
        across_mm=hole.across_mm,
        area_mm2=hole.area_mm2,
        middle_mm=hole.middle_mm,
        where=where_text(hole.middle_mm, right_hand=mockup.right_hand),
        closed=hole.closed,
    )


def _in_words(mockup: MockUp, part: Part, seen: Seen, found: Bracket, tolerance_mm: float) -> Gap:
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
    at_most = float(distance[0]) - part.skin_mm
    at_least = min(found.at_least_mm - part.skin_mm - part.drawn_mm, at_most)
    swallowed = found.at_most_mm > 0 and swallows(part, on_part, centre)
    if swallowed:
        # out of it, the wheel has to pass the surface by the whole of its own least width
        at_least, at_most = -math.inf, -max(at_least, 0.0) - _least_width_mm(mockup.solid.profile)
    return Gap(
        part=part.name,
        required_mm=part.required_mm,
        at_least_mm=at_least,
        at_most_mm=at_most,
        tolerance_mm=tolerance_mm,
        position=position,
        shift_mm=shift,
        on_part_mm=surface,
        at_rest_mm=found.point_mm,
        share=found.share,
        on_tire_mm=centre + turn @ foot[0],
        toward_part=toward,
        region=label,
        where=where_text(surface, right_hand=mockup.right_hand),
        per_mm=_per_mm(mockup, seen, found, normal[0], foot[0], label, part),
        uncertainty_mm=part.uncertainty_mm + (mockup.suspension.uncertainty_mm if part.rides_on == BODY else 0.0),
        swallowed=swallowed,
        motion_checked=0 if seen.path.proven else seen.path.checked,
        boxes=found.boxes,
    )


def _least_width_mm(profile: Profile) -> float:
    """How thin the solid is at its thinnest, as a disc: across its width, or across its diameter."""
    low, high, _, most = profile.bounds
    return min(high - low, 2.0 * most)


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
        before, after = mockup.solid.chain.distance(along, radial)
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
