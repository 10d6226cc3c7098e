"""A flat plate cut to the bed: straight cuts, keyed and bolted at each joint.

* cut   - a straight line across the plate, upright or level
* joint - where two parts meet along a cut: a key of one in a slot of the other, `fit` left all round, and a splice
          plate bolted across it with one bolt on each side
* splice - the plate that bridges a joint; all of them are alike

Lengths are millimetres, in the plane of the plate.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise, product

import numpy as np

from clearance.errors import ShapeError
from clearance.gauge.flatwork import Shape, grown, grown_round, oblong, parts_of
from clearance.gauge.making import Making
from clearance.geom.profile import Point

KEY_DEEP_MM = 9.0
KEY_ROOT_MM = 10.0
KEY_END_MM = 14.0
BOLT_BEHIND_MM = 11.0
BOLT_AHEAD_MM = 18.0
SPLICE_BEHIND_MM = 19.0
SPLICE_AHEAD_MM = 26.0
SPLICE_WIDE_MM = 20.0
SPLICE_THICK_MM = 4.0
EDGE_MM = 2.0
"""A splice stays this far inside the plate's outline."""
JOINT_EVERY_MM = 80.0
LEAST_PART_MM2 = 600.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Joint:
    """One key with its splice. `ahead` points from the part with the key to the part with the slot."""

    at: Point
    ahead: Point
    key_part: int
    slot_part: int

    def spot(self, along_mm: float) -> Point:
        """A point on the joint's axis."""
        return self.at[0] + along_mm * self.ahead[0], self.at[1] + along_mm * self.ahead[1]

    @property
    def bolts(self) -> tuple[Point, Point]:
        """Centres of its two bolts."""
        return self.spot(-BOLT_BEHIND_MM), self.spot(BOLT_AHEAD_MM)

    @property
    def turn_deg(self) -> float:
        """Direction of `ahead`."""
        return math.degrees(math.atan2(self.ahead[1], self.ahead[0]))

    def placed(self, shape: Shape) -> Shape:
        """A shape drawn about (0, 0) with its axis along x, where it stands at the joint."""
        from shapely.affinity import affine_transform

        (c, s), (x, y) = self.ahead, self.at
        return affine_transform(shape, [c, -s, s, c, x, y])


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Split:
    """A plate in parts."""

    parts: tuple[Shape, ...]
    joints: tuple[Joint, ...]


def key_shape() -> Shape:
    """The key about its root, pointing along x: wider at its end, so that it cannot pull out."""
    from shapely import Polygon

    r, e = KEY_ROOT_MM / 2, KEY_END_MM / 2
    return Polygon([(-1.0, -r), (0.0, -r), (KEY_DEEP_MM, -e), (KEY_DEEP_MM, e), (0.0, r), (-1.0, r)])


def splice_shape() -> Shape:
    """The splice plate about the joint, along x, without its holes."""
    half = SPLICE_WIDE_MM / 2
    return oblong(-SPLICE_BEHIND_MM, -half, SPLICE_AHEAD_MM, half)


def split(plate: Shape, keep_out: Shape, room: tuple[float, float], making: Making) -> Split:
    """The plate in as few parts as lie within `room` (width, height, either way round).

    No cut and no splice touches `keep_out`. Raises ShapeError where no way of cutting was found.
    """
    x0, y0, x1, y1 = plate.bounds
    for columns, rows in _grids():
        best: tuple[float, Split] | None = None
        if not _may_fit(x1 - x0, y1 - y0, columns, rows, room):
            continue
        for cuts_x, cuts_y in product(_cut_choices(x0, x1, columns), _cut_choices(y0, y1, rows)):
            found = _laid_out(plate, keep_out, cuts_x, cuts_y, room, making)
            if found is not None and (best is None or found[0] < best[0]):
                best = found
        if best is not None:
            return best[1]
    raise ShapeError("the blade cannot be cut to this bed: no joint finds room. Use a larger --bed.")


def _grids() -> Iterable[tuple[int, int]]:
    return sorted(((c, r) for c in range(1, 7) for r in range(1, 7) if c * r <= 16), key=lambda g: (g[0] * g[1], g[0]))


def _may_fit(width: float, height: float, columns: int, rows: int, room: tuple[float, float]) -> bool:
    w, h = width / columns, height / rows
    return (w <= room[0] and h <= room[1]) or (w <= room[1] and h <= room[0])


def _cut_choices(low: float, high: float, count: int) -> list[tuple[float, ...]]:
    if count == 1:
        return [()]
    even = np.array([low + (high - low) * k / count for k in range(1, count)])
    reach = (high - low) / count / 2.5
    shifts = sorted(np.arange(-reach, reach + 1e-9, max(4.0, reach / 5)), key=abs)
    return [tuple(float(c) for c in even + s) for s in shifts]


def _laid_out(
    plate: Shape,
    keep_out: Shape,
    cuts_x: tuple[float, ...],
    cuts_y: tuple[float, ...],
    room: tuple[float, float],
    making: Making,
) -> tuple[float, Split] | None:
    """Parts and joints for these cuts with their cost; None where they do not work."""
    lines = _cut_lines(plate, cuts_x, cuts_y)
    if any(line.distance(keep_out) < 1.0 for line in lines if not keep_out.is_empty):
        return None
    cells = _cells(plate, cuts_x, cuts_y)
    if any(c.area < LEAST_PART_MM2 or not _lies_within(c, room, KEY_DEEP_MM + 1.0) for c in cells):
        return None
    joints = _joints(plate, keep_out, cells, lines, making)
    if not _all_held(len(cells), joints):
        return None
    # Fewer parts first, then fewer loose seams, then parts of like size.
    largest = max(c.area for c in cells)
    return 1000.0 * len(cells) + 100.0 * len(joints) + largest / plate.area, _with_keys(cells, joints, making)


def _cut_lines(plate: Shape, cuts_x: tuple[float, ...], cuts_y: tuple[float, ...]) -> list[Shape]:
    """The stretches of the cuts that lie in the plate, broken where cuts cross."""
    from shapely import LineString

    x0, y0, x1, y1 = plate.bounds
    stops_x, stops_y = [x0 - 1, *cuts_x, x1 + 1], [y0 - 1, *cuts_y, y1 + 1]
    runs = [((x, a), (x, b)) for x in cuts_x for a, b in pairwise(stops_y)]
    runs += [((a, y), (b, y)) for y in cuts_y for a, b in pairwise(stops_x)]
    found = []
    for run in runs:
        inside = plate.intersection(LineString(run))
        found += [g for g in getattr(inside, "geoms", [inside]) if g.geom_type == "LineString" and g.length > 0.5]
    return found


def _cells(plate: Shape, cuts_x: tuple[float, ...], cuts_y: tuple[float, ...]) -> list[Shape]:
    x0, y0, x1, y1 = plate.bounds
    stops_x, stops_y = [x0 - 1, *cuts_x, x1 + 1], [y0 - 1, *cuts_y, y1 + 1]
    cells = []
    for a, b in pairwise(stops_y):
        for c, d in pairwise(stops_x):
            cells += parts_of(plate.intersection(oblong(c, a, d, b)))
    return cells


def _lies_within(part: Shape, room: tuple[float, float], more_mm: float) -> bool:
    x0, y0, x1, y1 = part.bounds
    w, h = x1 - x0 + more_mm, y1 - y0 + more_mm
    return bool((w <= room[0] and h <= room[1]) or (w <= room[1] and h <= room[0]))


def _joints(plate: Shape, keep_out: Shape, cells: list[Shape], lines: list[Shape], making: Making) -> list[Joint]:
    from shapely import Point as ShapelyPoint

    inside = grown_round(plate, -EDGE_MM)
    taken = keep_out
    joints: list[Joint] = []
    for line in lines:
        (ax, ay), (bx, by) = line.coords[0], line.coords[-1]
        upright = abs(bx - ax) < 1e-9
        step = (0.3, 0.0) if upright else (0.0, 0.3)
        middle = ((ax + bx) / 2, (ay + by) / 2)
        sides = [ShapelyPoint(middle[0] + s * step[0], middle[1] + s * step[1]) for s in (-1, 1)]
        low, high = (next((k for k, c in enumerate(cells) if c.contains(p)), -1) for p in sides)
        if low < 0 or high < 0:
            continue
        wanted = max(1, round(line.length / JOINT_EVERY_MM))
        for k in range(wanted):
            joint = _joint_near(line, (k + 0.5) / wanted, upright, low, high, inside, taken, cells, making)
            if joint is not None:
                joints.append(joint)
                taken = taken.union(grown(joint.placed(splice_shape()), 1.0))
    return joints


def _joint_near(
    line: Shape,
    share: float,
    upright: bool,
    low: int,
    high: int,
    inside: Shape,
    taken: Shape,
    cells: list[Shape],
    making: Making,
) -> Joint | None:
    """A joint as near as can be to a share of the way along a seam, pointing either way."""
    along = np.arange(2.0, line.length - 2.0, 2.0)
    ahead = (1.0, 0.0) if upright else (0.0, 1.0)
    back = (-ahead[0], -ahead[1])
    for at in sorted(along, key=lambda a: (round(abs(a - share * line.length), 6), a)):
        point = line.interpolate(float(at))
        for way, key_part, slot_part in ((ahead, low, high), (back, high, low)):
            joint = Joint(at=(point.x, point.y), ahead=way, key_part=key_part, slot_part=slot_part)
            splice = joint.placed(splice_shape())
            if not inside.contains(splice) or taken.intersects(splice):
                continue
            if _seated(joint, cells, making):
                return joint
    return None


def _seated(joint: Joint, cells: list[Shape], making: Making) -> bool:
    """Is there enough of each part round its bolt and the key?"""
    from shapely import Point as ShapelyPoint

    around = making.bolt_hole_mm / 2 + making.wall_mm
    behind, ahead = (ShapelyPoint(p).buffer(around) for p in joint.bolts)
    slot = grown(joint.placed(key_shape()), 3.0).intersection(joint.placed(oblong(0.0, -50.0, 50.0, 50.0)))
    return bool(
        cells[joint.key_part].contains(behind)
        and cells[joint.slot_part].contains(ahead)
        and cells[joint.slot_part].buffer(1e-6).contains(slot)
    )


def _all_held(count: int, joints: list[Joint]) -> bool:
    held = {0}
    for _ in range(count):
        for j in joints:
            if j.key_part in held or j.slot_part in held:
                held |= {j.key_part, j.slot_part}
    return len(held) == count


def _with_keys(cells: list[Shape], joints: list[Joint], making: Making) -> Split:
    """Give each part its keys, then cut each back so that `fit` is left between it and the parts before it."""
    from shapely import union_all

    keyed = []
    for k, cell in enumerate(cells):
        gains = [j.placed(key_shape()) for j in joints if j.key_part == k]
        losses = [j.placed(key_shape()) for j in joints if j.slot_part == k]
        shape = union_all([cell, *gains])
        keyed.append(shape.difference(union_all(losses)) if losses else shape)
    done: list[Shape] = []
    for shape in keyed:
        if done and making.fit_mm > 0:
            shape = shape.difference(grown_round(union_all(done), making.fit_mm))
        done.append(parts_of(shape)[0])
    return Split(parts=tuple(done), joints=tuple(joints))
