"""What the wheel sees of the well: every part, at every position, as rings about the spin axis.

The tire and wheel are one solid of revolution, so a point of the well matters only by how far along the axis and how
far from it the point is: (y, r) in hub axes. Gathered over a grid of positions, a part becomes a set of rings in one
half plane that does not depend on the tire, the rim or the offset. To try another tire is then to lay another outline
on the same rings, which is why thousands of combinations take seconds.

The rings are real points at real positions, so the least distance to them is never less than the true gap, but the
grid may step over the closest one: `Seen.gap_mm` is an estimate from above. It chooses what is worth certifying and
where a search should start; it is never an answer.

Lengths are millimetres, angles degrees.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product
from typing import TYPE_CHECKING

import numpy as np

from clearance.mockup.paths import far_move, pushed
from clearance.pose import Array, Pose
from clearance.suspension.position import Cycle, Suspension

if TYPE_CHECKING:
    from clearance.geom.chain import Chain
    from clearance.mockup.mockup import MockUp
    from clearance.well.part import Part

POINT_SPACING_MM = 12.0
"""No triangle's longest side is left longer than this: flat on a shoulder of 40 mm radius that hides under 0.5 mm."""
_CUBE_MM = 7.0
"""One point of a part is kept in each cube of this side, edges first."""
TRAVEL_STEP_MM = 15.0
STEER_STEP_DEG = 4.0
CELL_MM = 1.5
"""One ring is kept for each square of this side."""
_POINTS_AT_A_TIME = 300_000
_MOST_TRIANGLES = 300_000


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Seen:
    """The rings of one part."""

    part: str
    required_mm: float
    skin_mm: float
    along_mm: Array
    """(n,): along the spin axis from the hub's face, outboard positive."""
    radius_mm: Array
    """(n,): from the spin axis."""

    def gap_mm(self, chain: Chain, shifted_mm: float = 0.0) -> float:
        """Least distance from these rings to an outline moved `shifted_mm` outboard; never below the true gap."""
        if not len(self.along_mm):
            return float("inf")
        return float(chain.distance(self.along_mm - shifted_mm, self.radius_mm).min()) - self.skin_mm


def seen_by_wheel(mockup: MockUp, *, within_mm: float, margin_mm: float = 60.0) -> tuple[Seen, ...]:
    """What a wheel of up to `within_mm` reach sees of every part over the mock-up's cycle.

    Points that stay further than the reach and the margin from the hub at every position cannot matter and are left
    out.
    """
    grid = position_grid(mockup.suspension.cycle)
    return tuple(_seen(mockup.suspension, part, grid, within_mm + margin_mm) for part in mockup.parts)


def position_grid(cycle: Cycle) -> Array:
    """(n, 3) positions over the whole box, its ends included, none further apart than the steps above."""
    axes = [
        _ticks(*cycle.bump_mm, TRAVEL_STEP_MM),
        _ticks(*cycle.other_bump_mm, 4 * TRAVEL_STEP_MM),
        _ticks(*cycle.steer_deg, STEER_STEP_DEG),
    ]
    rows = np.array(list(product(*axes)))
    if cycle.articulation_mm is not None:
        kept = rows[np.abs(rows[:, 0] - rows[:, 1]) <= cycle.articulation_mm + 1e-9]
        rows = kept if len(kept) else rows
    return rows


def _ticks(least: float, most: float, step: float) -> Array:
    count = max(1, int(np.ceil((most - least) / step - 1e-9)))
    ticks = np.linspace(least, most, count + 1 if most > least else 1)
    return np.unique(np.append(ticks, 0.0)) if least < 0.0 < most else ticks


def _seen(suspension: Suspension, part: Part, grid: Array, reach_mm: float) -> Seen:
    hub = suspension.pose(grid)
    near = suspension.pose(grid, part.rides_on)
    middle = hub.origin_mm.mean(axis=0)
    # Seen from the body, the hub moves inside a ball; what stays outside of it and the reach together is never near.
    roam = float(np.linalg.norm(hub.origin_mm - middle, axis=1).max())
    points, share = _points(part, middle, reach_mm + 2 * roam + part.skin_mm)
    cells = _Cells(reach_mm)
    shifts = _shifts(suspension.cycle)
    # what rides with the wheel takes its play along
    taken = pushed(part.rides_on)
    if part.far_end is None:
        _gather(cells, points, near, hub, [(1.0 - taken) * shift for shift in shifts[: 1 if taken else None]])
    else:
        # a bar stays straight between its two ends
        far = far_move(suspension, part, grid)
        left = 1.0 - ((1.0 - share) * taken + share * pushed(part.far_end.frame))
        for one in range(len(grid)):
            place = (points + share * far[one]) @ near.turn[one].T + near.origin_mm[one]
            for shift in shifts:
                own = (place - left * shift - hub.origin_mm[one]) @ hub.turn[one]
                cells.add(own[:, 1], np.hypot(own[:, 0], own[:, 2]))
    along, radius = cells.rings()
    return Seen(part=part.name, required_mm=part.required_mm, skin_mm=part.skin_mm, along_mm=along, radius_mm=radius)


def _gather(cells: _Cells, points: Array, near: Pose, hub: Pose, shifts: list[Array]) -> None:
    """Rings of points carried by one frame, by matrix products: the hub is taken to the part's frame, not back."""
    square = np.einsum("ij,ij->i", points, points)
    for shift in shifts:
        # the hub's centre and axis as the part's own frame sees them, one column for each position
        centre = np.einsum("qji,qj->qi", near.turn, hub.origin_mm + shift - near.origin_mm)
        axis = np.einsum("qji,qj->qi", near.turn, hub.axis)
        step = max(1, _POINTS_AT_A_TIME // max(1, len(points)))
        for at in range(0, len(centre), step):
            c, a = centre[at : at + step], axis[at : at + step]
            along = points @ a.T - np.einsum("qi,qi->q", c, a)
            apart = square[:, None] - 2 * (points @ c.T) + np.einsum("qi,qi->q", c, c)
            cells.add(along.ravel(), np.sqrt(np.maximum(apart - along * along, 0.0)).ravel())


def _shifts(cycle: Cycle) -> list[Array]:
    """The corners of the play: (ahead, outboard, 0)."""
    play = cycle.shift
    ahead, across = {-play.behind_mm, play.ahead_mm}, {-play.inboard_mm, play.outboard_mm}
    return [np.array([x, y, 0.0]) for x, y in product(sorted(ahead), sorted(across))]


class _Cells:
    """Squares of the half plane, each with the last ring that fell into it."""

    def __init__(self, reach_mm: float) -> None:
        half = int(np.ceil(reach_mm / CELL_MM)) + 2
        self._half = half
        self._along = np.full((2 * half, half), np.nan)
        self._radius = np.full((2 * half, half), np.nan)

    def add(self, along: Array, radius: Array) -> None:
        column = np.floor(along / CELL_MM).astype(np.int64) + self._half
        row = np.floor(radius / CELL_MM).astype(np.int64)
        inside = (column >= 0) & (column < 2 * self._half) & (row < self._half)
        if not inside.all():
            column, row, along, radius = column[inside], row[inside], along[inside], radius[inside]
        # one number for each square: laid by two, it takes twice as long
        square = column * self._half + row
        self._along.ravel()[square] = along
        self._radius.ravel()[square] = radius

    def rings(self) -> tuple[Array, Array]:
        """The rings near the rim of what was seen: those deep inside are never the nearest to a solid outside."""
        kept = ~np.isnan(self._along)
        kept &= ~_deep(kept)
        return self._along[kept], self._radius[kept]


def _deep(filled: np.ndarray) -> np.ndarray:
    """Squares well inside the filled area, holes of the sampling closed first."""
    bridge = int(np.ceil(POINT_SPACING_MM / CELL_MM / 2)) + 1
    # Padded, so that closing does not eat what touches the frame's edge; along the axis (row 0) it counts as open.
    pad = bridge + 3
    left_open = ~_grown(np.pad(filled, pad), bridge)
    core: np.ndarray = ~_grown(left_open, bridge + 3)[pad:-pad, pad:-pad]
    return core


def _grown(filled: np.ndarray, times: int) -> np.ndarray:
    """Squares and their four neighbours, so many times over."""
    for _ in range(times):
        more = filled.copy()
        more[1:] |= filled[:-1]
        more[:-1] |= filled[1:]
        more[:, 1:] |= filled[:, :-1]
        more[:, :-1] |= filled[:, 1:]
        filled = more
    return filled


def _points(part: Part, centre: Array, reach_mm: float) -> tuple[Array, Array]:
    """Points (n, 3) all over what of the part is within reach, and their shares of the far end (n, 1).

    Corners and points along edges stand first, so that where several share a small cube it is the edge that stays.
    """
    triangles = np.asarray(part.triangles_mm, dtype=float)
    share = np.zeros(triangles.shape[:2]) if part.far_end is None else np.asarray(part.far_end.share, dtype=float)
    kept = _within(triangles, centre, reach_mm)
    triangles, share = triangles[kept], share[kept]
    found = [(triangles.reshape(-1, 3), share.reshape(-1, 1)), _edge_points(triangles, share)]
    while len(triangles) and len(triangles) <= _MOST_TRIANGLES:
        edges = _lengths(triangles - triangles[:, [1, 2, 0]])
        large = (edges > POINT_SPACING_MM).any(axis=1)
        triangles, share = _halved(triangles[large], share[large], edges[large])
        kept = _within(triangles, centre, reach_mm)
        # the only corner that is new is the middle of the side that was cut: second of the one half, first of the other
        new = np.where(np.arange(len(triangles)) < len(triangles) // 2, 1, 0)[kept]
        triangles, share = triangles[kept], share[kept]
        rows = np.arange(len(triangles))
        found.append((triangles[rows, new], share[rows, new, None]))
    points = np.concatenate([p for p, _ in found])
    shares = np.concatenate([s for _, s in found])
    if len(points):
        cube = np.floor(points / _CUBE_MM).astype(np.int64) + 2**19
        # one whole number for each cube: 20 bits to an axis is 7 km either way
        _, first = np.unique((cube[:, 0] << 40) | (cube[:, 1] << 20) | cube[:, 2], return_index=True)
        points, shares = points[first], shares[first]
    return points, shares


def _within(triangles: Array, centre: Array, reach_mm: float) -> np.ndarray:
    one, other, third = (triangles[:, i] for i in range(3))
    middle = (one + other + third) / 3
    size = np.maximum(np.maximum(_lengths(one - middle), _lengths(other - middle)), _lengths(third - middle))
    close: np.ndarray = _lengths(middle - centre) - size <= reach_mm
    return close


def _lengths(ways: Array) -> Array:
    """(...): of vectors (..., 3). Three products and two sums are several times as quick as a sum along so short an
    axis, and give the same digits."""
    x, y, z = ways[..., 0], ways[..., 1], ways[..., 2]
    lengths: Array = np.sqrt(x * x + y * y + z * z)
    return lengths


def _edge_points(triangles: Array, share: Array) -> tuple[Array, Array]:
    """Points along every long edge, no further apart than the spacing."""
    ahead, share_ahead = np.roll(triangles, -1, axis=1), np.roll(share, -1, axis=1)
    start, end = triangles.reshape(-1, 3), ahead.reshape(-1, 3)
    first, last = share.reshape(-1, 1), share_ahead.reshape(-1, 1)
    count = np.ceil(np.linalg.norm(end - start, axis=1) / POINT_SPACING_MM).astype(int)
    which = np.repeat(np.arange(len(count)), count)
    place = np.arange(len(which)) - np.repeat(np.cumsum(count) - count, count)
    t = (place / np.maximum(count[which], 1))[:, None]
    return start[which] * (1 - t) + end[which] * t, first[which] * (1 - t) + last[which] * t


def _halved(triangles: Array, share: Array, edges: Array) -> tuple[Array, Array]:
    """Every triangle cut in two across the middle of its longest side."""
    if not len(triangles):
        return triangles, share
    longest = edges.argmax(axis=1)
    rows = np.arange(len(triangles))
    a, b, c = longest, (longest + 1) % 3, (longest + 2) % 3
    pa, pb, pc = triangles[rows, a], triangles[rows, b], triangles[rows, c]
    sa, sb, sc = share[rows, a], share[rows, b], share[rows, c]
    mid, share_mid = (pa + pb) / 2, (sa + sb) / 2
    cut = np.concatenate([np.stack([pa, mid, pc], axis=1), np.stack([mid, pb, pc], axis=1)])
    cut_share = np.concatenate([np.stack([sa, share_mid, sc], axis=1), np.stack([share_mid, sb, sc], axis=1)])
    return cut, cut_share
