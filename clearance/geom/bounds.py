"""Proven lower bounds of the gap over boxes: functions of what the boxes look like from the hub, and of the solid.

* hull  - the distance to the revolved convex hull is a convex function of the point, so its tangent plane at the middle
          lies below it everywhere. Over the set of points a linear function is least at a corner; along the path the
          place moves linearly but for a remainder that the path's bends bound. Second-order tight wherever the nearest
          place of the solid lies on the hull, inside and out.
* touch - the same by tangent planes taken where the box comes nearest to the hull.
* cover - off the solid, the same for every convex piece of its cover, the least of them. A piece that lies further
          from the axis than the point pays for the curvature of its circle. Used only where it proves the box free.
* depth - inside the solid, the distance to the surface point that is nearest to the middle; second-order tight too.
* plain - the distance moves no more than the point does.

docs/how-gaps-are-measured.md has the derivation.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from clearance.geom.boxes import Boxes, with_room
from clearance.geom.chain import Chain, Near
from clearance.geom.limit import Limit
from clearance.geom.profile import Array, Line
from clearance.geom.revolve import HULL_SLACK_MM, Solid
from clearance.geom.touch import Touch
from clearance.geom.view import Lean, View

Ints = np.ndarray

_OFF_AXIS_MM = 1e-3
"""Nearer to the axis, the way off it is not known to many digits."""
_TOUCHES = 2
"""Steps towards the place where a box touches the hull."""
_SHARES = (0.5, 0.25, 0.75)
"""Of the nearer of two surface points, in a mean of the distances to both."""
_INSIDE_SHARE = 0.1
"""How much the sizes of a box inside the solid count at least when choosing what to split: a depth needs it small."""


def allowed(boxes: Boxes, limits: tuple[Limit, ...], numbers: int) -> Boxes:
    """The boxes of which limits leave anything; `numbers` is how many numbers a setting has."""
    for limit in limits:
        apart = np.abs(boxes.middle[:, limit.one] - boxes.middle[:, limit.other])
        kept = apart - boxes.half[:, limit.one] - boxes.half[:, limit.other] <= limit.most
        if not kept.all():
            if boxes.bound.shape[0] != len(boxes):
                boxes = with_room(boxes, numbers)
            boxes = boxes.take(np.flatnonzero(kept))
    return boxes


def on_surface(solid: Solid) -> Ints:
    """For each surface of the hull: is it a surface of the solid too, and no bridge over a hollow?"""
    chain: Chain = solid.hull_chain
    own = {(e.start, e.end) for e in solid.profile.surfaces if isinstance(e, Line)}
    tight = []
    for element in chain.surfaces:
        tight.append(not isinstance(element, Line) or (element.start, element.end) in own)
    return np.array(tight)


def hull_plane(view: View, lean: Lean) -> Array:
    """(n, 3) of the planes of `by_hull`: see `Boxes.plane`."""
    unit = (view.away >= 0.0) & (view.radial > _OFF_AXIS_MM)
    begins = view.across * view.along + view.away * view.radial + lean.least
    return np.column_stack([np.where(unit, begins, -np.inf), view.across, np.abs(view.away)])


def by_hull(view: View) -> tuple[Array, Lean]:
    """(n,) bounds by the hull's tangent planes at the middles, mm, and the linear part of the distance."""
    lean = view.lean(view.across, view.gradient)
    return view.distance - HULL_SLACK_MM + lean.least, lean


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Touched:
    """Bounds of some boxes by touching planes, and where those that stay open come nearest."""

    bound: Array
    """(m,), mm."""
    score: Array
    """(m, k + 1) what each number, and the set of points, leaves uncertain."""
    open: Ints
    """Which of the m need more looking at."""
    open_bound: Array
    """The last bound of each of these, mm."""
    places: Touch
    """Where each of these comes nearest."""
    plane: Array
    """(m, 3) of the plane of each bound: see `Boxes.plane`."""
    told: Ints
    """(m,) True where the hull has told all that it can and the box matters still: what is nearer is the hull's own."""


def by_touch(view: View, rows: Ints, chain: Chain, *, by_size: Array, drop: Array, hollow: bool) -> Touched:
    """Bounds of some rows of a view by tangent planes taken where each box comes nearest to the hull.

    `by_size` (m, k + 1) is what the hull's bound left uncertain. A box proven no lower than its `drop` (m,) is settled.
    `hollow`: is the hull a bridge over hollows of the solid anywhere?
    """
    touch = Touch(view, rows, chain)
    bound, score = np.full(len(rows), -np.inf), by_size.copy()
    plane = np.zeros((len(rows), 3))
    told = np.zeros(len(rows), dtype=bool)
    left = np.arange(len(rows))
    for _ in range(_TOUCHES):
        touch.step()
        found = touch.bound - HULL_SLACK_MM
        bound[left] = np.maximum(bound[left], found)
        plane[left] = touch.plane
        # the hull may be as near as that with nothing left uncertain about it: then what the middle says stands
        told[left] = ((found < 0) | hollow) & (touch.score.sum(axis=1) < drop[left] - found)
        score[left] = _still_uncertain(touch.score, by_size, found < 0, told[left], _INSIDE_SHARE if hollow else 0.0)
        still = np.flatnonzero(found < drop[left])
        left, touch, found, by_size = left[still], touch.take(still), found[still], by_size[still]
        if not len(left):
            break
    return Touched(bound=bound, score=score, open=left, open_bound=found, places=touch, plane=plane, told=told)


def _still_uncertain(score: Array, by_size: Array, inside: Ints, told: Ints, share: float) -> Array:
    """What to split by: the touching plane's own score, but by size where it has told all, and a share inside."""
    held = np.where(inside[:, None], np.maximum(score, share * by_size), score)
    return np.where(told[:, None], by_size, held)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Covered:
    """Bounds of some boxes by the solid itself, not its hull."""

    bound: Array
    """(m,), mm."""
    lean: Lean
    """The linear part of the distance that gives them."""
    nearer: Ints
    """(m,) True where the solid tells more of the box than the hull does: off it, or deeper in the hull."""


def by_cover(view: View, rows: Ints, solid: Solid) -> Covered:
    """Bounds of some rows of a view by the cover's pieces, by depth, or by the plain bound."""
    some = view.take(rows)
    lowest, away_from, lean = _by_pieces(some, solid.piece_chains)
    bound = np.maximum(np.where(lowest > 0, lowest, -np.inf), away_from - some.furthest)
    nearer = away_from > 0
    inside = away_from <= 0
    if inside.any():
        deep = np.flatnonzero(inside)
        distance, bound[deep], leaning = _by_depth(some.take(deep), solid.chain)
        lean.put(deep, leaning)
        nearer[deep] |= distance > view.distance[rows[deep]] + HULL_SLACK_MM
    return Covered(bound=bound, lean=lean, nearer=nearer)


def _by_pieces(some: View, chains: tuple[Chain, ...]) -> tuple[Array, Array, Lean]:
    """The least bound over convex pieces, the distance to the nearest of them, and the linear part of that bound."""
    lowest = np.full(len(some.along), np.inf)
    away_from = np.full(len(some.along), np.inf)
    kept: Lean | None = None
    for chain in chains:
        near = chain.near(some.along, some.radial)
        lean = _leaning(some, near.across, near.away)
        tangent = near.distance + lean.least - _circle_bend(near.away, some.radial, some.furthest)
        bound = np.maximum(tangent, near.distance - some.furthest)
        kept = lean if kept is None else kept.where(bound < lowest, lean)
        lowest = np.minimum(lowest, bound)
        away_from = np.minimum(away_from, near.distance)
    assert kept is not None
    return lowest, away_from, kept


def _leaning(view: View, across: Array, away: Array) -> Lean:
    """The linear part of a distance that grows along (across, away) in the half plane."""
    return view.lean(across, across[:, None] * view.axis + away[:, None] * view.outward)


def _by_depth(within: View, chain: Chain) -> tuple[Array, Array, Lean]:
    """The distance at the middles of boxes inside the solid, bounds by depth, and the linear part of these."""
    near = chain.near(within.along, within.radial)
    lean = _leaning(within, near.across, near.away)
    bound = _depth_bound(near.distance, lean.least, within.furthest)
    _between_two_sides(within, near, chain, bound, lean)
    return near.distance, bound, lean


def _between_two_sides(within: View, near: Near, chain: Chain, bound: Array, lean: Lean) -> None:
    """Raise depth bounds of boxes about the middle of the section, in place.

    There one surface point recedes as the other comes nearer. No point is deeper than any mean of its distances to
    two of them, and of a mean the linear parts may cancel. The second is the one nearest to a place across the box.
    """
    y = within.along - within.furthest * near.across
    r = np.abs(within.radial - within.furthest * near.away)
    other = chain.near(y, r)
    to_y, to_r = y - other.distance * other.across - within.along, r - other.distance * other.away - within.radial
    far = np.maximum(np.hypot(to_y, to_r), 1e-9)
    across, away = to_y / far, to_r / far
    bends = _point_bend(-near.distance, within.furthest), _point_bend(far, within.furthest)
    for share in _SHARES:
        rest = 1.0 - share
        mixed = share * near.across + rest * across, share * near.away + rest * away
        mean = _leaning(within, *mixed)
        mean_bound = share * (near.distance - bends[0]) - rest * (far + bends[1]) + mean.least
        higher = np.flatnonzero(mean_bound > bound)
        bound[higher] = mean_bound[higher]
        lean.put(higher, mean.take(higher))


def _circle_bend(away: Array, radial: Array, moved: Array) -> Array:
    """What a distance to a piece further from the axis than the point can lose to the roundness of its circle.

    r is a convex function of the place, so where distance falls as r grows, r may grow by more than its linear part: by
    the square of the step over twice the least r.
    """
    room = radial - moved
    bend = np.where(room > 0, -away * moved**2 / (2.0 * np.maximum(room, 1e-9)), np.inf)
    return np.where(away >= 0, 0.0, bend)


def _depth_bound(distance: Array, least: Array, moved: Array) -> Array:
    """Lower bounds where the middle is inside.

    No point is deeper than it is far from the surface point nearest to the middle, and a distance to one fixed point is
    linear but for the square of the step over twice the least distance.
    """
    return np.maximum(distance + least - _point_bend(-distance, moved), distance - moved)


def _point_bend(distance: Array, moved: Array) -> Array:
    """By how much a distance to a fixed point may grow beyond its linear part where a place moves this far."""
    room = distance - moved
    return np.where(room > 0, moved**2 / (2.0 * np.maximum(room, 1e-9)), np.inf)
