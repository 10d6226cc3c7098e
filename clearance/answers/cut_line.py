"""Where to cut a scanned surface, and which way each of its regions would have to go instead.

* region    - the faces of a scan that look the same way: its wall (moved inboard), crown (raised), front (moved ahead),
              rear (moved back), outer side (moved outboard), floor (lowered). A face belongs where most of the way
              straight out of it, away from the hub, points
* need      - required gap less the least gap that a corner of the mesh ever has: above zero it must go
* raw line  - where the need is zero, or below it by the margin
* cut line  - the raw line made fair (`fair_line`): what must go by the raw line goes by it too
* margin    - how far outside of that the cut lies, so that what remains keeps its gap, put back into the check

Corner axes at ride height; lengths are millimetres.
"""

from __future__ import annotations

import math
from collections import defaultdict
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from clearance.answers.checked import gaps_of
from clearance.answers.fair_line import fair_value, off_mm
from clearance.answers.relief import WAYS, Move, ReliefMap, least_move, map_of
from clearance.gap.found import CLEARS, Gap
from clearance.pose import Array
from clearance.steady import steady
from clearance.well.part import Hole, Part

if TYPE_CHECKING:
    from clearance.mockup.mockup import MockUp

REGIONS = {
    "wall": "inboard",
    "crown": "up",
    "front": "ahead",
    "rear": "back",
    "outer side": "outboard",
    "floor": "down",
}
"""Each region and the way that it goes."""
MARGINS_MM = (0.0, 0.5, 1.0, 2.0, 4.0, 8.0)
"""Tried in turn: between its corners a mesh may come nearer to the tire than at them."""
_SAME = 6
"""Digits, of a millimetre, to which ends of a line are one place."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Region:
    """One region of a scan that comes too near."""

    name: str
    way: str
    most_mm: float
    """The most to take off, square to the surface."""
    area_mm2: float
    move: Move | None
    """The least move of the whole region, its own way, that clears what was measured of it; None where none within
    reach does. What its holes hide is told of the whole part, and of what remains."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CutLine:
    """Where a scan is cut so that what remains clears."""

    part: str
    margin_mm: float
    lines_mm: tuple[Array, ...]
    """Each (n, 3), longest first; a closed one ends where it begins."""
    remains: Part
    goes_mm: Array
    """(m, 3, 3): the triangles that go."""
    gap: Gap | None
    """Of what remains, put back into the check; None where nothing remains."""
    off_mm: float = 0.0
    """The furthest that it lies from the raw line, which follows the scan's noise; always on the side that stays."""

    @property
    def length_mm(self) -> float:
        """Of all lines, along the surface."""
        return float(sum(length_of(line) for line in self.lines_mm))

    @property
    def clears(self) -> bool:
        """Does what remains keep its required gap, proven?"""
        return self.gap is None or self.gap.verdict == CLEARS


def mapped(mockup: MockUp, name: str) -> ReliefMap:
    """What to take off one part; of a scan with its regions and where to cut it."""
    skin = map_of(mockup, name)
    if mockup.part(name).kind != "mesh":
        return skin
    return replace(skin, regions=regions_of(mockup, skin), cut=cut_line_of(mockup, skin))


def length_of(line: Array) -> float:
    """Along a line (n, 3) or (n, 2)."""
    return float(np.linalg.norm(np.diff(line, axis=0), axis=1).sum())


@steady
def regions_of(mockup: MockUp, skin: ReliefMap) -> tuple[Region, ...]:
    """The regions of a mapped part that come too near, worst first, each with the least move that clears it."""
    part = mockup.part(skin.part)
    triangles = skin.vertices_mm[skin.faces]
    own = _region_of(triangles)
    found = []
    for number, (name, way) in enumerate(REGIONS.items()):
        here = own == number
        faces = skin.faces[here]
        touched = (skin.take_off_mm[faces] > 0).any(axis=1)
        if not touched.any():
            continue
        alone = replace(part, triangles_mm=triangles[here], holes=())
        single = replace(mockup, parts=(alone,))
        gap = gaps_of(single, (part.name,))[0]
        move = None if gap.verdict == CLEARS else least_move(single, gap, way, WAYS[way])
        most = float(skin.take_off_mm[faces].max())
        area = float(_areas(triangles[here][touched]).sum())
        found.append(Region(name=name, way=way, most_mm=most, area_mm2=area, move=move))
    return tuple(sorted(found, key=lambda region: (-region.most_mm, region.name)))


def _region_of(triangles: Array) -> npt.NDArray[np.intp]:
    """(n,): the number of each triangle's region."""
    across = np.cross(triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0])
    middle = triangles.mean(axis=1)
    # straight out of the face, away from the axle line: a scan's faces may look either way
    from_axle = middle * np.array([1.0, 0.0, 1.0])
    facing_hub = np.abs(across[:, 1]) > 0.7071 * np.linalg.norm(across, axis=1)
    away = np.where(facing_hub[:, None], middle * np.array([0.0, 1.0, 0.0]), from_axle)
    out = across * np.where((across * away).sum(axis=1) < 0.0, -1.0, 1.0)[:, None]
    ways = np.array([WAYS[way] for way in REGIONS.values()])
    return np.asarray(np.argmax(out @ ways.T, axis=1), dtype=np.intp)


@steady
def cut_line_of(mockup: MockUp, skin: ReliefMap) -> CutLine | None:
    """Where to cut a mapped part so that what remains clears; None where nothing of it has to go.

    The first margin of `MARGINS_MM` with which what remains is proven to clear; the last where none is, and then
    `clears` says so.
    """
    if skin.most_mm <= 0.0:
        return None
    part = mockup.part(skin.part)
    found = None
    for margin in MARGINS_MM:
        found = _cut(mockup, part, skin, margin)
        # what a hole of the scan hides is told, and no margin helps against it
        if found.clears or _seen_clears(mockup, found.remains):
            break
    return found


def _seen_clears(mockup: MockUp, remains: Part) -> bool:
    """Does what was measured of it clear, whatever its holes hide?"""
    if not remains.holes:
        return False
    seen = replace(remains, holes=())
    return gaps_of(replace(mockup, parts=(seen,)), (seen.name,))[0].verdict == CLEARS


def _cut(mockup: MockUp, part: Part, skin: ReliefMap, margin: float) -> CutLine:
    over = skin.need_mm + margin
    _, _, raw = clipped(skin.vertices_mm[skin.faces], over[skin.faces])
    if len(raw):
        over = fair_value(skin.vertices_mm, skin.faces, over, raw)
    stays, goes, ends = clipped(skin.vertices_mm[skin.faces], over[skin.faces])
    holes = tuple(hole for hole in part.holes if not _goes_too(hole, skin, over))
    gap = None
    remains = part
    if len(stays):
        remains = replace(part, triangles_mm=stays, holes=holes)
        gap = gaps_of(replace(mockup, parts=(remains,)), (part.name,))[0]
    return CutLine(
        part=part.name,
        margin_mm=margin,
        lines_mm=_chained(ends),
        remains=remains,
        goes_mm=goes,
        gap=gap,
        off_mm=off_mm(ends.reshape(-1, 3), raw) if len(raw) else 0.0,
    )


def _goes_too(hole: Hole, skin: ReliefMap, over: Array) -> bool:
    """Is every corner of a hole's rim nearest to a corner of the mesh that goes?"""
    from scipy.spatial import cKDTree

    if not len(hole.triangles_mm):
        return False
    _, nearest = cKDTree(skin.vertices_mm).query(hole.triangles_mm.reshape(-1, 3))
    return bool((over[nearest] > 0.0).all())


def clipped(triangles: Array, value: Array) -> tuple[Array, Array, Array]:
    """Triangles (n, 3, 3) cut where a value (n, 3), straight between their corners, is zero.

    What lies at zero or below (k, 3, 3), what lies above (m, 3, 3), and the cut itself as straight ends (s, 2, 3).
    """
    above = value > 0.0
    count = above.sum(axis=1)
    stays, goes, ends = [triangles[count == 0]], [triangles[count == 3]], []
    for alone_above in (True, False):
        rows = np.flatnonzero(count == (1 if alone_above else 2))
        if not len(rows):
            continue
        # turned so that the corner that stands alone on its side comes first
        first = np.argmax(above[rows] == alone_above, axis=1)
        order = (first[:, None] + np.arange(3)) % 3
        a, b, c = np.moveaxis(np.take_along_axis(triangles[rows], order[..., None], axis=1), 1, 0)
        va, vb, vc = np.take_along_axis(value[rows], order, axis=1).T
        ab = _zero(a, b, va, vb)
        ac = _zero(a, c, va, vc)
        tip = np.stack([a, ab, ac], axis=1)
        rest = np.concatenate([np.stack([ab, b, c], axis=1), np.stack([ab, c, ac], axis=1)])
        (goes if alone_above else stays).append(tip)
        (stays if alone_above else goes).append(rest)
        ends.append(np.stack([ab, ac], axis=1))
    cut = np.concatenate(ends) if ends else np.zeros((0, 2, 3))
    return _with_area(np.concatenate(stays)), _with_area(np.concatenate(goes)), cut


def _zero(a: Array, b: Array, va: Array, vb: Array) -> Array:
    """Where the value is zero between two corners; the same place from whichever end it is asked."""
    swap = (va > vb)[:, None]
    low, high = np.where(swap, b, a), np.where(swap, a, b)
    vl, vh = np.minimum(va, vb), np.maximum(va, vb)
    share = np.clip(-vl / np.where(vh > vl, vh - vl, 1.0), 0.0, 1.0)[:, None]
    return np.asarray(low + share * (high - low))


def _areas(triangles: Array) -> Array:
    found: Array = (
        np.linalg.norm(np.cross(triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0]), axis=1) / 2
    )
    return found


def _with_area(triangles: Array) -> Array:
    kept: Array = triangles[_areas(triangles) > 1e-9]
    return kept


def _chained(ends: Array) -> tuple[Array, ...]:
    """Straight ends (s, 2, 3) joined to lines where they meet, longest first."""
    keys = [tuple(map(tuple, np.round(pair, _SAME) + 0.0)) for pair in ends]
    at: dict[tuple[float, ...], list[int]] = defaultdict(list)
    for k, (one, other) in enumerate(keys):
        if one != other:
            at[one].append(k)
            at[other].append(k)
    used: set[int] = set()
    # open lines from their ends first, then what goes round
    starts = sorted(p for p in at if len(at[p]) == 1) + sorted(at)
    lines = []
    for start in starts:
        while (line := _followed(start, keys, at, used)) is not None:
            lines.append(np.array(line))
    return tuple(sorted(lines, key=lambda line: (-round(length_of(line), 6), *line[0])))


def _followed(
    start: tuple[float, ...],
    keys: list[tuple[tuple[float, ...], ...]],
    at: dict[tuple[float, ...], list[int]],
    used: set[int],
) -> list[tuple[float, ...]] | None:
    line, here = [start], start
    while (k := next((k for k in at[here] if k not in used), None)) is not None:
        used.add(k)
        one, other = keys[k]
        here = other if here == one else one
        line.append(here)
        if here == start:
            break
    return line if len(line) > 1 else None


@dataclass(frozen=True, slots=True, kw_only=True)
class Offset:
    """One place of a cut line, to mark with a tape."""

    number: int
    line: int
    ahead_mm: float
    outboard_mm: float
    above_mm: float

    @property
    def straight_mm(self) -> float:
        """From the middle of the hub face."""
        return math.hypot(self.ahead_mm, self.outboard_mm, self.above_mm)


def offsets_of(cut: CutLine, every_mm: float) -> tuple[Offset, ...]:
    """Places along every line no further apart than `every_mm` along it, its ends among them."""
    found: list[Offset] = []
    for k, line in enumerate(cut.lines_mm, start=1):
        along = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(line, axis=0), axis=1))])
        count = max(2, math.ceil(along[-1] / every_mm))
        closed = bool(np.array_equal(line[0], line[-1]))
        for s in np.linspace(0.0, along[-1], count + 1)[: -1 if closed else None]:
            x, y, z = (float(np.interp(s, along, line[:, i])) for i in range(3))
            found.append(Offset(number=len(found) + 1, line=k, ahead_mm=x, outboard_mm=y, above_mm=z))
    return tuple(found)
