"""That faces are not reached, shown by planes: how far the disc goes in a direction, over whole cells of the cycle.

The disc is convex, so a plane that it stays behind keeps a face that lies beyond. Behind which plane it stays while it
moves is a question about the direction and not about the face, and at how many settings it must be asked hangs on the
motion alone: the settings are the same for every face.

* node  - a setting of a grid over the travel and the steering, with play at its middle
* cell  - the settings between neighbouring nodes, with all of the play; boxes are made of cells, some along each number
* reach - of a direction at a node: how far the furthest place of the disc lies along it. Play adds what it does along
          the direction: it slides the disc and nothing else
* bulge - how much further the disc can reach within a box than at the best of its corners

A face is held against every box by some plane: its own, then a few of the disc where it comes nearest. What is left
are pairs of a face and a box. Each pair has planes of its own, and is cut to smaller boxes where they do not do. How a
plane was found proves nothing and need not. Faces that keep a cell open are left to the search (`geom.bracket`).
Lengths are millimetres.

docs/envelope-and-zones.md has the derivation.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise, product

import numpy as np

from clearance.geom.nearest import Nearest
from clearance.geom.profile import Arc, Profile
from clearance.geom.revolve import HULL_SLACK_MM
from clearance.pose import Array

_PARTS = 4096
"""Directions of the outline's table, from one side to the other."""
_ROUNDING_MM = 1e-5
_UNIT = 1.001
"""How much a fitted axis may bend more than one of length 1 does; it is off by a hundred millionth."""
_PACED = 17
"""Settings along each number at which it is looked how fast the axis turns."""
_SIZES = (8, 4, 2, 1)
"""Cells along each number of the boxes that are asked, one after another."""
_BLOCK = _SIZES[0]
_MOST_CELLS = 8_000
_AT_ONCE = 40_000
"""Faces x nodes worked on at once: what stays in the processor's cache."""
_PAIRS = 4_000
"""Faces with a box each, the same."""
_FEW_PLANES = 3
"""Planes of the disc tried for a face against all of the largest boxes."""
_MANY = 24
"""A face that leaves no more of them open goes on to them one by one."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Outline:
    """How far a convex outline turned about its axis reaches in any direction; never less than it does.

    The reach of a direction is no more than that of its parts, so between two directions of the table it lies below the
    straight line between theirs: the table is read along the edges of a diamond, on which that line is straight.
    """

    reach_mm: Array
    """(parts + 1,), at directions (t, 1 - |t|), t from -1 to 1."""
    rise_mm: Array
    """(parts,): from each to the next."""

    def along(self, lean: Array) -> Array:
        """(...): of unit directions that have `lean` along the axis."""
        away = np.sqrt(np.maximum(1.0 - lean * lean, 0.0))
        size = np.abs(lean) + away
        place = (lean / size + 1.0) * (_PARTS / 2.0)
        part = np.minimum(place.astype(np.intp), _PARTS - 1)
        place -= part
        place *= self.rise_mm[part]
        place += self.reach_mm[part]
        place *= size
        return np.asarray(place)


def outline_of(profile: Profile) -> Outline:
    """The table of a convex profile."""
    t = np.linspace(-1.0, 1.0, _PARTS + 1)
    across, away = t, 1.0 - np.abs(t)
    reach = np.full(len(t), -np.inf)
    for element in profile.surfaces:
        for y, r in (element.start, element.end):
            reach = np.maximum(reach, across * y + away * r)
        if isinstance(element, Arc):
            # a whole circle would reach further: it counts in the directions that its arc has a place for
            size = np.hypot(across, away)
            turn = (np.arctan2(away, across) - element.start_rad) % (2.0 * np.pi)
            own = turn <= element.sweep_rad
            full = across * element.centre[0] + away * element.centre[1] + size * element.radius_mm
            reach = np.where(own, np.maximum(reach, full), reach)
    return Outline(reach_mm=reach + HULL_SLACK_MM, rise_mm=np.diff(reach))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Boxes:
    """Boxes of the cycle of one size: a grid of them, each from node to node."""

    ends: np.ndarray
    """(n, 2 ** smooth): the nodes at their corners."""
    bulge_mm: Array
    """(n,)"""
    centre: Array
    """(n, 3): of the disc at their middles."""
    axis: Array
    """(n, 3)"""
    settings: Array
    """(n, 2, smooth): the least and the greatest of every number in them."""
    parts: np.ndarray
    """(n, 2 ** smooth): the boxes of half the size in each; none in the smallest."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Held:
    """What planes show of triangles."""

    least_mm: Array
    """(n,): no triangle comes nearer to the disc than this but in what is left open."""
    triangle: np.ndarray
    """(m,): of what is open, pair by pair."""
    middle: Array
    """(m, k): the settings at which it is."""
    half: Array
    """(m, k)"""


class Planes:
    """The boxes of a cycle; which faces keep a distance from the disc in all of them can be asked."""

    def __init__(self, nearest: Nearest, bulge_mm: float) -> None:
        """Cells in which the disc bulges by about `bulge_mm`, or more where they would be too many."""
        self._nearest, self._smooth = nearest, nearest.smooth
        path = nearest.path
        self._outline = outline_of(nearest.solid.profile)
        self._slides = np.zeros((0, 3))
        if path.slide is not None:
            self._slides = path.slide.by[:, :3] * ((path.box[-2:, 1] - path.box[-2:, 0]) / 2.0)[:, None]
        bends = self._bends()
        grid = self._grid(bends, bulge_mm)
        shape = grid.shape[:-1]
        flat = grid.reshape(int(np.prod(shape)), self._smooth)
        centre, axis = self._at(flat)
        self._centre, self._axis = np.ascontiguousarray(centre.T), np.ascontiguousarray(axis.T)
        self._sizes = [_boxes(self._at, flat, shape, size, bends) for size in _SIZES[: len(_SIZES) if shape else 1]]
        coarse = np.ix_(*(range(0, count, _BLOCK) for count in shape))
        self._coarse_centre, self._coarse_axis = (
            each.reshape(*shape, 3)[coarse].reshape(-1, 3).T for each in (centre, axis)
        )
        self._coarse_shape = tuple(len(range(0, count, _BLOCK)) for count in shape)

    @property
    def bulge_mm(self) -> Array:
        """(cells,): how much further the disc can reach within each cell than at the best of its corners."""
        return self._sizes[-1].bulge_mm

    @staticmethod
    def serve(nearest: Nearest) -> bool:
        """Is the motion one of which this can show anything? Play has to slide the disc and not turn it."""
        slide = nearest.path.slide
        slides = slide is None or not (slide.turns or slide.by[:, 3:6].any())
        return slides and len(nearest.limits) <= 1

    def _at(self, smooth: Array) -> tuple[Array, Array]:
        """Centres and axes at rows of smooth numbers, with play at its middle."""
        play = self._nearest.path.box[self._smooth :].mean(axis=1)
        return self._nearest.path.at(np.column_stack([smooth, np.repeat(play[None], len(smooth), axis=0)]))

    def _bends(self) -> Array:
        """(smooth, smooth): the most that any place of the disc is bent by two numbers.

        A place of the disc is its centre, so far along the axis and so far off it; turned with the axis by the
        shortest way it is bent inward by the square of how fast the axis turns, and sideways as the axis is.
        """
        path, smooth = self._nearest.path, self._smooth
        box = path.box
        lines = [np.linspace(box[i, 0], box[i, 1], _PACED) for i in range(smooth)]
        grid = np.array(np.meshgrid(*lines, indexing="ij")).reshape(smooth, -1).T if smooth else np.zeros((1, 0))
        settings = np.column_stack([grid, np.repeat(box[smooth:].mean(axis=1)[None], len(grid), axis=0)])
        speed = np.linalg.norm(path.rates(settings).axis_by[:, :smooth], axis=2).max(axis=0)
        # no setting is further than half a step from one of these
        half = (box[:smooth, 1] - box[:smooth, 0]) / (2.0 * (_PACED - 1))
        speed = speed + path.axis_bend[:smooth, :smooth] @ half
        turning = np.outer(speed, speed) + path.axis_turn[:smooth, :smooth]
        return np.asarray(_UNIT * (path.centre_bend[:smooth, :smooth] + self._nearest.solid.reach_mm * turning))

    def _grid(self, bends: Array, bulge_mm: float) -> Array:
        """(n0, n1, ..., smooth): the nodes. Cells fill what the box and the limit allow, and no more."""
        box = self._nearest.path.box[: self._smooth]
        width = box[:, 1] - box[:, 0]
        while True:
            steps = np.sqrt(8.0 * bulge_mm / max(1, len(box)) / np.maximum(np.diag(bends), 1e-12))
            if np.prod(np.ceil(width / steps / _BLOCK) * _BLOCK) <= _MOST_CELLS:
                break
            bulge_mm *= 1.3
        cuts: list[list[float]] = [[] for _ in width]
        for limit in self._nearest.limits:
            low, high = box[limit.other]
            cuts[limit.one] = [low + limit.most, high - limit.most]
        lines = [_line(box[i, 0], box[i, 1], cuts[i], float(steps[i])) for i in range(len(box))]
        if not lines:
            return np.zeros((0,))
        grid = np.stack(np.meshgrid(*lines, indexing="ij"), axis=-1)
        for limit in self._nearest.limits:
            # along the other number from the least to the greatest that goes with the one: cells stay convex, for
            # between two cuts of the one these ends are straight
            low, high = box[limit.other]
            one, share = grid[..., limit.one], (grid[..., limit.other] - low) / (high - low)
            least, most = np.maximum(low, one - limit.most), np.minimum(high, one + limit.most)
            grid[..., limit.other] = least + share * np.maximum(most - least, 0.0)
        return grid

    def _play(self, directions: Array) -> Array:
        """(n,): what play adds to the reach along directions (n, 3)."""
        return np.asarray(np.abs(directions @ self._slides.T).sum(axis=-1))

    def hold(self, corners: Array, normals: Array, needed_mm: Array) -> Held:
        """Where triangles (n, 3, 3) keep at least so much (n,) from the disc, by planes, and what that leaves open.

        The path's own fit error is taken off. `normals` (n, 3, 3) are those of the surface at their corners; they
        steer and prove nothing.
        """
        needed_mm = needed_mm + self._nearest.path.error_mm
        own = _own(corners, normals)
        least = np.full(len(corners), np.inf)
        face, box, spare = self._left_by_few(corners, own, needed_mm, least)
        ways = own[face]
        larger: Boxes | None = None
        for boxes in self._sizes:
            if larger is not None:
                # the plane that came nearest to closing the larger box, before one of the disc in this
                each = larger.parts.shape[1]
                face, box, ways = np.repeat(face, each), larger.parts[box].ravel(), np.repeat(ways, each, axis=0)
                spare = self._spare(boxes, corners, face, box, ways)
                open_ = _open(face, spare, needed_mm, least)
                face, box, ways, spare = face[open_], box[open_], ways[open_], spare[open_]
            self._tried(boxes, corners, face, box, ways, spare)
            open_ = _open(face, spare, needed_mm, least)
            face, box, ways = face[open_], box[open_], ways[open_]
            larger = boxes
        middle, half = self._settings(self._sizes[-1], box)
        return Held(least_mm=least - self._nearest.path.error_mm, triangle=face, middle=middle, half=half)

    def _settings(self, boxes: Boxes, box: np.ndarray) -> tuple[Array, Array]:
        """Middles and half ranges (m, k) of boxes, with all of the play."""
        play = self._nearest.path.box[self._smooth :]
        low, high = (
            np.hstack([boxes.settings[box, end], np.repeat(play[None, :, end], len(box), axis=0)]) for end in (0, 1)
        )
        return (low + high) / 2.0, (high - low) / 2.0

    def _tried(
        self, boxes: Boxes, corners: Array, face: np.ndarray, box: np.ndarray, ways: Array, spare: Array
    ) -> None:
        """Try the disc's plane at the middles of boxes, in place where it does better."""
        for at in range(0, len(face), _PAIRS):
            rows = slice(at, at + _PAIRS)
            tried = self._towards(corners[face[rows]], boxes.centre[box[rows]], boxes.axis[box[rows]])
            there = self._spare(boxes, corners, face[rows], box[rows], tried)
            better = np.flatnonzero(there > spare[rows])
            ways[at + better], spare[at + better] = tried[better], there[better]

    def _left_by_few(
        self, corners: Array, own: Array, needed_mm: Array, least: Array
    ) -> tuple[np.ndarray, np.ndarray, Array]:
        """Faces and largest boxes, pair by pair, that a few planes of each face leave open, with what these spare
        there; the `least` (n,) of the others in place."""
        boxes = self._sizes[0]
        best = self._spare_of_all(corners, own)
        rows = np.arange(len(corners))
        for _ in range(_FEW_PLANES):
            rows = rows[np.count_nonzero(best[rows] < needed_mm[rows, None], axis=1) > _MANY]
            if not len(rows):
                break
            worst = np.argmin(best[rows], axis=1)
            way = self._towards(corners[rows], boxes.centre[worst], boxes.axis[worst])
            best[rows] = np.maximum(best[rows], self._spare_of_all(corners[rows], way))
        open_ = best < needed_mm[:, None]
        face, box = np.nonzero(open_)
        np.minimum(least, np.min(best, axis=1, where=~open_, initial=np.inf), out=least)
        return face, box, best[face, box]

    def _spare_of_all(self, corners: Array, ways: Array) -> Array:
        """(n, boxes): how far triangles (n, 3, 3) lie beyond what the disc reaches in the largest boxes along ways."""
        place = self._place(corners, ways)
        spare = np.empty((len(ways), len(self._sizes[0].ends)))
        step = max(1, _AT_ONCE // self._coarse_axis.shape[1])
        for at in range(0, len(ways), step):
            some = ways[at : at + step]
            reach = self._outline.along(some @ self._coarse_axis)
            reach += some @ self._coarse_centre
            most = reach.reshape(len(some), *self._coarse_shape)
            for number in range(1, most.ndim):
                ahead = np.moveaxis(most, number, 0)
                most = np.moveaxis(np.maximum(ahead[1:], ahead[:-1]), 0, number)
            np.subtract(place[at : at + step, None], most.reshape(len(some), -1), out=spare[at : at + step])
        spare -= self._sizes[0].bulge_mm
        return spare

    def _place(self, corners: Array, ways: Array) -> Array:
        """(n,): where triangles (n, 3, 3) begin along directions (n, 3), less what play adds to the disc's reach."""
        along = [np.einsum("ij,ij->i", corners[:, i], ways) for i in range(3)]
        place: Array = np.minimum(np.minimum(along[0], along[1]), along[2]) - self._play(ways)
        return place

    def _spare(self, boxes: Boxes, corners: Array, face: np.ndarray, box: np.ndarray, ways: Array) -> Array:
        """(n,): how far faces lie beyond what the disc reaches in boxes along directions (n, 3), pair by pair."""
        found = np.empty(len(face))
        for at in range(0, len(face), _PAIRS):
            rows = slice(at, at + _PAIRS)
            own, nodes = ways[rows], boxes.ends[box[rows]].T
            reach = self._outline.along(_along(self._axis, nodes, own))
            reach += _along(self._centre, nodes, own)
            most = np.maximum.reduce(reach, axis=0)
            found[rows] = self._place(corners[face[rows]], own) - most - boxes.bulge_mm[box[rows]]
        return found

    def _towards(self, corners: Array, centre: Array, axis: Array) -> Array:
        """(n, 3): directions in which triangles (n, 3, 3) lie beyond the disc at a centre and an axis each.

        Square to the disc where it comes nearest to the middle of the triangle.
        """
        return self._nearest.seen(corners.mean(axis=1), centre, axis)[1]


def _open(face: np.ndarray, spare: Array, needed_mm: Array, least: Array) -> np.ndarray:
    """(m,): which pairs are open still; the `least` (n,) that their faces are spared of the others in place."""
    open_: np.ndarray = spare < needed_mm[face]
    np.minimum.at(least, face[~open_], spare[~open_])
    return open_


def _along(vectors: Array, rows: np.ndarray, ways: Array) -> Array:
    """(k, n): how far columns (k, n) of vectors (3, m) reach along directions (n, 3)."""
    x, y, z = ways.T
    found = vectors[0].take(rows) * x
    found += vectors[1].take(rows) * y
    found += vectors[2].take(rows) * z
    return np.asarray(found)


def _own(corners: Array, normals: Array) -> Array:
    """(n, 3): what is square to triangles (n, 3, 3); one of the normals at their corners where they have no area."""
    own = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    size = np.linalg.norm(own, axis=1)
    flat = size == 0.0
    own[flat], size[flat] = normals[flat, 0], 1.0
    return np.asarray(own / size[:, None])


def _line(low: float, high: float, cuts: list[float], step: float) -> Array:
    """Nodes from one end to the other, no further apart than a step; blocks end at the cuts."""
    ends = [low, *sorted(cut for cut in set(cuts) if low < cut < high), high]
    parts = [np.linspace(a, b, _BLOCK * int(np.ceil((b - a) / step / _BLOCK)) + 1)[:-1] for a, b in pairwise(ends)]
    return np.concatenate([*parts, [high]])


def _boxes(
    at: Callable[[Array], tuple[Array, Array]], nodes: Array, shape: tuple[int, ...], size: int, bends: Array
) -> Boxes:
    """The boxes of so many cells along each number in a grid of nodes (n, smooth) of this shape."""
    number = np.arange(int(np.prod(shape))).reshape(shape)
    counts = tuple((count - 1) // size for count in shape)
    corner = list(product((0, 1), repeat=len(shape)))
    ends = np.stack(
        [
            number[
                tuple(
                    slice(end * size, end * size + (count - 1) * size + 1, size)
                    for end, count in zip(row, counts, strict=True)
                )
            ].ravel()
            for row in corner
        ],
        axis=1,
    )
    low, high = nodes[ends].min(axis=1), nodes[ends].max(axis=1)
    centre, axis = at((low + high) / 2.0)
    smaller = np.arange(int(np.prod(counts)) * 2 ** len(counts)).reshape([2 * count for count in counts])
    parts = np.stack([smaller[tuple(slice(end, None, 2) for end in row)].ravel() for row in corner], axis=1)
    return Boxes(
        ends=ends,
        bulge_mm=_bulge(high - low, bends),
        centre=centre,
        axis=axis,
        settings=np.stack([low, high], axis=1),
        parts=parts,
    )


def _bulge(extent: Array, bends: Array) -> Array:
    """(...): how much further the disc can reach within a cell of this extent (..., smooth) than at its corners."""
    half = extent / 2.0
    bulge: Array = np.einsum("...i,ij,...j->...", half, bends, half) / 2.0 + _ROUNDING_MM
    return bulge
