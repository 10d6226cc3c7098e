"""That faces are not reached, shown by planes: how far the disc goes in a direction, over whole cells of the cycle.

The disc is convex, so a plane that it stays behind keeps a face that lies beyond. Behind which plane it stays while it
moves is a question about the direction and not about the face, and at how many settings it must be asked hangs on the
motion alone: the settings are the same for every face.

* node  - a setting of a grid over the travel and the steering, with play at its middle
* cell  - the settings between neighbouring nodes, with all of the play; cells lie in blocks
* reach - of a direction at a node: how far the furthest place of the disc lies along it. Play adds what it does along
          the direction: it slides the disc and nothing else
* bulge - how much further the disc can reach within a cell than at the best of its nodes

A face is held against every cell by some plane: its own, then those square to the surface at its corners, then those of
the disc where it comes nearest, one after another until no cell is left. How a plane was found proves nothing and need
not. Faces that keep a cell open are left to the search (`geom.bracket`). Lengths are millimetres.

docs/envelope-and-zones.md has the derivation.
"""

from __future__ import annotations

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
_BLOCK = 4
"""Cells of a block along each number."""
_MOST_CELLS = 8_000
_AT_ONCE = 40_000
"""Faces x nodes worked on at once: what stays in the processor's cache."""
_ROUNDS = 8
"""Planes of the disc tried for a face, after those of the surface."""
_LEFT = 1.5
"""A block that lacks less than this many times its bulge is left to its cells."""
_MIXES = np.array([[1.0, 1.0, 1.0], [1.0, 1.0, 0.0], [0.0, 1.0, 1.0], [1.0, 0.0, 1.0]])
"""How the normals of a face's corners are mixed to planes."""


_PLACES = np.array([[3, 0, 0], [0, 3, 0], [0, 0, 3], [1, 1, 1]]) / 3.0
"""Places of a triangle from which it is looked for a plane."""


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


class Planes:
    """The cells of a cycle; which faces keep a distance from the disc in all of them can be asked."""

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
        self._centre, self._axis = self._at(flat)
        self._block = _blocks(shape)
        self._local = (_BLOCK + 1,) * self._smooth
        nodes = flat[self._block].reshape(len(self._block), *self._local, self._smooth)
        low, high = self._of_cells(nodes, np.minimum), self._of_cells(nodes, np.maximum)
        self._middle_centre, self._middle_axis = self._at(
            ((low + high) / 2.0).reshape(low.shape[0] * low.shape[1], self._smooth)
        )
        self.bulge_mm = _bulge(high - low, bends)
        """(blocks, cells)"""
        inside = tuple(range(1, self._smooth + 1))
        low, high = nodes.min(axis=inside), nodes.max(axis=inside)
        self._block_bulge = _bulge(high - low, bends)
        self._block_centre, self._block_axis = self._at((low + high) / 2.0)
        ends = product((0, _BLOCK), repeat=self._smooth)
        corner = [int(sum(at * (_BLOCK + 1) ** i for i, at in enumerate(end))) for end in ends]
        self._ends, self._end_of = np.unique(self._block[:, corner], return_inverse=True)
        self._end_of = self._end_of.reshape(len(self._block), -1)

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

    def _of_cells(self, nodes: Array, of: np.ufunc) -> Array:
        """(n, cells, ...): the least or greatest at the corners of each cell, of (n, *local, ...) at nodes."""
        for number in range(1, self._smooth + 1):
            ahead = np.moveaxis(nodes, number, 0)
            nodes = np.moveaxis(of(ahead[1:], ahead[:-1]), 0, number)
        return nodes.reshape(len(nodes), _BLOCK**self._smooth, *nodes.shape[self._smooth + 1 :])

    def _play(self, directions: Array) -> Array:
        """(n,): what play adds to the reach along directions (n, 3)."""
        return np.asarray(np.abs(directions @ self._slides.T).sum(axis=-1))

    def hold(self, corners: Array, normals: Array, needed_mm: float) -> tuple[np.ndarray, float]:
        """Which of triangles (n, 3, 3) keep at least so much from the disc at every setting, and the least they keep.

        The path's own fit error is taken off. `normals` (n, 3, 3) are those of the surface at their corners; they
        steer and prove nothing.
        """
        error_mm = self._nearest.path.error_mm
        needed_mm += error_mm
        own = _own(corners, normals)
        face, block, kept = self._coarse(corners, normals, own, needed_mm)
        face, finer = self._fine(corners, normals, own, face, block, needed_mm)
        held = np.ones(len(corners), dtype=bool)
        held[face] = False
        return held, min(kept, finer) - error_mm

    def _coarse(
        self, corners: Array, normals: Array, own: Array, needed_mm: float
    ) -> tuple[np.ndarray, np.ndarray, float]:
        """Faces and blocks, pair by pair, that no direction closes as a whole; and the least kept in the others."""
        blocks = len(self._block)
        rows, directions = np.arange(len(corners)), own
        best = np.full((len(corners), blocks), -np.inf)
        for turn in range(1 + len(_MIXES) + _ROUNDS):
            best[rows] = np.maximum(best[rows], self._spare_of_blocks(directions, corners[rows]))
            # what lacks no more than cells make up for is left to them
            lacks = best[rows] + _LEFT * self._block_bulge
            rows = rows[lacks.min(axis=1) < needed_mm]
            if not len(rows):
                break
            if turn < len(_MIXES):
                directions = _mixed(normals[rows], turn)
            else:
                worst = np.argmin(best[rows] + _LEFT * self._block_bulge, axis=1)
                directions = self._towards(corners[rows], self._block_centre[worst], self._block_axis[worst])
        open_ = best < needed_mm
        face, block = np.nonzero(open_)
        return face, block, float(best[~open_].min(initial=np.inf))

    def _spare_of_blocks(self, directions: Array, corners: Array) -> Array:
        """(n, blocks): how far triangles (n, 3, 3) lie beyond what the disc reaches along directions (n, 3)."""
        place = np.einsum("nij,nj->ni", corners, directions).min(axis=1) - self._play(directions)
        centre, axis = self._centre[self._ends].T, self._axis[self._ends].T
        spare = np.empty((len(corners), len(self._block)))
        step = max(1, _AT_ONCE // len(self._ends))
        for at in range(0, len(corners), step):
            some = directions[at : at + step]
            reach = self._outline.along(some @ axis)
            reach += some @ centre
            most = reach[:, self._end_of[:, 0]]
            for corner in range(1, self._end_of.shape[1]):
                np.maximum(most, reach[:, self._end_of[:, corner]], out=most)
            spare[at : at + step] = place[at : at + step, None] - most - self._block_bulge
        return spare

    def _fine(
        self, corners: Array, normals: Array, own: Array, face: np.ndarray, block: np.ndarray, needed_mm: float
    ) -> tuple[np.ndarray, float]:
        """The faces of pairs of which a cell stays open, whatever direction is tried; the least kept in the others."""
        best = np.full((len(face), self.bulge_mm.shape[1]), -np.inf)
        directions, least = own.copy(), np.inf
        for turn in range(1 + len(_MIXES) + _ROUNDS):
            if not len(face):
                break
            rows, first = np.unique(face, return_index=True)
            if 0 < turn <= len(_MIXES):
                directions[rows] = _mixed(normals[rows], turn - 1)
            elif turn:
                order = np.lexsort((best.min(axis=1), face))[first]
                cell = np.argmin(best[order], axis=1) + block[order] * best.shape[1]
                directions[rows] = self._towards(corners[rows], self._middle_centre[cell], self._middle_axis[cell])
            place = np.zeros(len(corners))
            place[rows] = np.einsum("nij,nj->ni", corners[rows], directions[rows]).min(axis=1)
            best = np.maximum(best, self._spare(directions, place, face, block))
            worst = best.min(axis=1)
            open_ = worst < needed_mm
            least = min(least, float(worst[~open_].min(initial=np.inf)))
            face, block, best = face[open_], block[open_], best[open_]
        return np.unique(face), least

    def _spare(self, directions: Array, place: Array, face: np.ndarray, block: np.ndarray) -> Array:
        """(pairs, cells): how far faces lie beyond what the disc reaches along their directions, cell by cell."""
        found = np.empty((len(face), self.bulge_mm.shape[1]))
        beyond = place - self._play(directions)
        step = max(1, _AT_ONCE // self._block.shape[1])
        for at in range(0, len(face), step):
            rows = slice(at, at + step)
            own, nodes = directions[face[rows]], self._block[block[rows]]
            reach = self._outline.along((self._axis[nodes] @ own[:, :, None])[:, :, 0])
            reach += (self._centre[nodes] @ own[:, :, None])[:, :, 0]
            most = self._of_cells(reach.reshape(-1, *self._local), np.maximum)
            found[rows] = beyond[face[rows], None] - most - self.bulge_mm[block[rows]]
        return found

    def _towards(self, corners: Array, centre: Array, axis: Array) -> Array:
        """(n, 3): directions in which triangles (n, 3, 3) lie beyond the disc at a centre and an axis each.

        Square to the disc where some places of the triangle come nearest, with its play as it is in the middle and then
        taken up that way: whichever tells most.
        """
        count, each = len(corners), len(_PLACES)
        places = np.einsum("mi,nij->nmj", _PLACES, corners).reshape(-1, 3)
        centres, axes = np.repeat(centre, each, axis=0), np.repeat(axis, each, axis=0)
        normals = [self._nearest.seen(places, centres, axes)[1]]
        if len(self._slides):
            pushed = centres + np.sign(normals[0] @ self._slides.T) @ self._slides
            normals.append(self._nearest.seen(places, pushed, axes)[1])
            normals.append(normals[0] + normals[1])
        tried = np.stack([one.reshape(count, each, 3) for one in normals], axis=1).reshape(count, -1, 3)
        tried = tried / np.linalg.norm(tried, axis=2)[:, :, None]
        spare = (tried @ np.swapaxes(corners, 1, 2)).min(axis=2) - self._play(tried)
        spare -= (tried @ centre[:, :, None])[:, :, 0]
        spare -= self._outline.along((tried @ axis[:, :, None])[:, :, 0])
        return np.asarray(tried[np.arange(count), np.argmax(spare, axis=1)])


def _own(corners: Array, normals: Array) -> Array:
    """(n, 3): what is square to triangles (n, 3, 3); one of the normals at their corners where they have no area."""
    own = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    size = np.linalg.norm(own, axis=1)
    flat = size == 0.0
    own[flat], size[flat] = normals[flat, 0], 1.0
    return np.asarray(own / size[:, None])


def _mixed(normals: Array, turn: int) -> Array:
    """(n, 3): a mean of some of the normals (n, 3, 3) at the corners of triangles."""
    mixed = np.einsum("i,nij->nj", _MIXES[turn], normals)
    return np.asarray(mixed / np.maximum(np.linalg.norm(mixed, axis=1), 1e-300)[:, None])


def _line(low: float, high: float, cuts: list[float], step: float) -> Array:
    """Nodes from one end to the other, no further apart than a step; blocks end at the cuts."""
    ends = [low, *sorted(cut for cut in set(cuts) if low < cut < high), high]
    parts = [np.linspace(a, b, _BLOCK * int(np.ceil((b - a) / step / _BLOCK)) + 1)[:-1] for a, b in pairwise(ends)]
    return np.concatenate([*parts, [high]])


def _blocks(shape: tuple[int, ...]) -> np.ndarray:
    """(blocks, nodes): the nodes of each block of a grid of nodes, its shape a multiple of a block and one more."""
    if not shape:
        return np.zeros((1, 1), dtype=np.intp)
    number = np.arange(int(np.prod(shape))).reshape(shape)
    windows = np.lib.stride_tricks.sliding_window_view(number, (_BLOCK + 1,) * len(shape))
    every = windows[tuple(slice(None, None, _BLOCK) for _ in shape)]
    return np.ascontiguousarray(every.reshape(-1, (_BLOCK + 1) ** len(shape)))


def _bulge(extent: Array, bends: Array) -> Array:
    """(...): how much further the disc can reach within a cell of this extent (..., smooth) than at its corners."""
    half = extent / 2.0
    bulge: Array = np.einsum("...i,ij,...j->...", half, bends, half) / 2.0 + _ROUNDING_MM
    return bulge
