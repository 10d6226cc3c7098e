"""Which triangles a moving convex solid never comes near to: a quick proof for many of them.

A plane that touches the solid is carried along by it. Wherever the solid goes, all of it stays behind the plane, so a
point's height over the plane is a lower bound of its distance. Over a *cell* - a box of settings between nodes of a
grid - the height changes with each number almost evenly, and linearly with the point: it is least where a corner of the
triangle meets a corner of the cell, but for a remainder that the path's second derivatives bound. So a few products of
arrays prove a triangle against a cell, and of two planes that each fail somewhere a mixture may hold everywhere.

* group - triangles that lie together; the eight corners of a slanted box around them stand for all of them first
* cell  - what is too coarse is halved, down to two steps of the grid; what fails there is left to `bracket.reached`

Where planes are taken proves nothing and is looked for as in `touch`: from the middle towards the corner that is lowest.

The carried plane: its normal turns from the axis u0 to u without spin, R = I + [w] + [w]^2 / (1 + u0.u), w = u0 x u
(the rotation between two vectors; Rodrigues' formula). With a bound a of |u_i|, T of the part of u_ii across u, B of
|u_ii|, and an angle of at most A <= 0.3 between u0 and u, term by term

    |R_i| <= a (1 + A),    |R_ii| <= T (1 + 1.03 A) + B (A + 1.29 A^2) + a^2 (1.03 + 1.08 A^2),

and a function's distance from the multilinear one through its values at a cell's corners is at most the sum over the
numbers of half the squared half width times its second derivative by that number. Lengths are millimetres.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from clearance.geom.limit import Limit
from clearance.geom.path import Path
from clearance.geom.profile import Array, Line, Profile
from clearance.geom.revolve import HULL_SLACK_MM, Solid

Ints = np.ndarray

_MOST_TURN = 0.3
"""The angle up to which the bounds above hold."""
_NODES = 70_000
_LEVELS = 8
"""A number's range is cut into 2^8 steps at most, and into fewer where several vary."""
_SMALL_GROUP = 4
_GROUP_BY = 4
_GROUP_LEVELS = 3
_OPEN_MM = 16.0
"""How far the solid moves over a cell before a small group is opened into its triangles."""
_ROWS = 6_000
"""Pairs worked on at once: what stays in the processor's cache."""
_LOOKS_AT_GROUPS = 1
_LOOKS = 3
"""How often a better plane is looked for."""
_MIXES = (0.25, 0.5, 0.75, 1.0)
_SHARP_MM = 40.0
_BLUNT_MM = 300.0
"""Radii of curvature across and along the tread, guessed when choosing what to halve; they prove nothing."""


def kept(
    triangles: Array, path: Path, solid: Solid, *, at_least_mm: float, limits: tuple[Limit, ...] = ()
) -> tuple[Ints, float]:
    """Which triangles (n, 3, 3) a convex solid is proven to stay this far away from, (n,), and the least proven of them.

    The path's fit error is allowed for. What is not proven may still be so; a setting that a limit forbids counts as
    allowed where its cell has one that is.
    """
    count = len(triangles)
    if count == 0 or len(path.sizes) == 0:
        return np.zeros(count, dtype=bool), np.inf
    return _Proof(triangles, path, solid, at_least_mm + path.error_mm, limits).run()


class Support:
    """The support function of a convex profile turned about its axis: how far it reaches in a direction."""

    def __init__(self, profile: Profile) -> None:
        rows: list[tuple[float, float, float, float]] = []
        turned = 0.0
        for element in profile.surfaces:
            (y, r), (end_y, end_r) = element.start, element.end
            rows.append((turned, y, r, 0.0))
            if isinstance(element, Line):
                turned = max(turned, float(np.arctan2(y - end_y, end_r - r)))
            else:
                first = float(np.arctan2(r - element.centre[1], y - element.centre[0]))
                turned = max(turned, first)
                rows.append((turned, *element.centre, element.radius_mm))
                turned = max(turned, first + element.sweep_rad)
            rows.append((turned, end_y, end_r, 0.0))
        table = np.array(rows)
        last = np.append(np.diff(table[:, 0]) > 1e-12, True)
        self._from = -np.cos(table[last, 0])
        self._table = table[last, 1:]

    def __call__(self, along: Array) -> Array:
        """The reach for unit directions whose part along the axis is `along`, of any shape."""
        along = np.clip(along, -1.0, 1.0)
        at = np.maximum(np.searchsorted(self._from, -along, side="right") - 1, 0)
        y, r, radius = self._table[at].T
        reach: Array = y.T * along + r.T * np.sqrt(1.0 - along * along) + radius.T
        return reach


@dataclass(slots=True, kw_only=True, eq=False)
class _Pairs:
    """Sets of points with cells: `row` (n,) numbers the set, `low` and `size` (n, m) the cell in steps of the grid."""

    row: Ints
    low: Ints
    size: Ints

    def take(self, rows: Ints) -> _Pairs:
        return _Pairs(row=self.row[rows], low=self.low[rows], size=self.size[rows])

    def halved(self, number: Ints) -> _Pairs:
        """Each in two along one number."""
        rows = np.arange(len(self.row))
        size, above = self.size.copy(), self.low.copy()
        size[rows, number] //= 2
        above[rows, number] += size[rows, number]
        return _Pairs(
            row=np.tile(self.row, 2), low=np.concatenate([self.low, above]), size=np.concatenate([size, size])
        )

    def opened(self, members: Ints) -> _Pairs:
        """Each set's `members` (sets, k) in its place."""
        each = members.shape[1]
        return _Pairs(
            row=members[self.row].ravel(),
            low=np.repeat(self.low, each, axis=0),
            size=np.repeat(self.size, each, axis=0),
        )


class _Grid:
    """Centres and axes at the nodes of a grid over the cycle, and what bounds their second derivatives."""

    def __init__(self, path: Path, solid: Solid, limits: tuple[Limit, ...]) -> None:
        smooth = len(path.sizes)
        self.smooth, self.limits, self.path = smooth, limits, path
        self.steps = 1 << min(_LEVELS, int(np.log2(_NODES ** (1.0 / smooth))))
        lines = [np.linspace(low, high, self.steps + 1) for low, high in path.box[:smooth]]
        nodes = np.array(np.meshgrid(*lines, indexing="ij")).reshape(smooth, -1).T
        self.play = np.zeros(2)
        if path.has_shift:
            nodes = np.column_stack([nodes, np.repeat(path.box[-2:].mean(axis=1)[None], len(nodes), axis=0)])
            self.play = (path.box[-2:, 1] - path.box[-2:, 0]) / 2
        self.pose = np.concatenate(path.at(nodes), axis=1)
        self.stride = (self.steps + 1) ** np.arange(smooth - 1, -1, -1)
        self.corners = np.array(np.meshgrid(*[[0, 1]] * smooth, indexing="ij")).reshape(smooth, -1).T
        self.signs = 2.0 * self.corners - 1.0
        self.step = (path.box[:smooth, 1] - path.box[:smooth, 0]) / self.steps
        self._bound_rates(nodes, smooth)
        self.bend = np.diag(path.centre_bend)[:smooth]
        self.axis_bend = np.diag(path.axis_bend)[:smooth]
        self.axis_turn = np.diag(path.axis_turn)[:smooth]
        self.moves_mm = (self.centre_rate + solid.reach_mm * self.axis_rate) * self.step

    def _bound_rates(self, nodes: Array, smooth: int) -> None:
        """Bounds of the first derivatives: the greatest at every fourth node, and what may be between."""
        each = 4
        shape = (self.steps + 1,) * smooth
        some = nodes.reshape((*shape, -1))[(slice(None, None, each),) * smooth].reshape(-1, nodes.shape[1])
        rates = self.path.rates(some)
        between = each * self.step / 2
        self.centre_rate = np.linalg.norm(rates.centre_by, axis=2).max(axis=0)[:smooth]
        self.centre_rate = self.centre_rate + self.path.centre_bend[:smooth, :smooth] @ between
        self.axis_rate = np.linalg.norm(rates.axis_by, axis=2).max(axis=0)[:smooth]
        self.axis_rate = self.axis_rate + self.path.axis_bend[:smooth, :smooth] @ between

    def all_cells(self, sets: int) -> _Pairs:
        """Some sets of points, each with all of the coarsest cells over which the axis does not turn too far."""
        size = np.full(self.smooth, self.steps)
        while (size * self.step) @ self.axis_rate > _MOST_TURN and size.max() > 1:
            size[np.argmax(size * self.step * self.axis_rate)] //= 2
        low = np.array(np.meshgrid(*[np.arange(0, self.steps, s) for s in size], indexing="ij"))
        low = low.reshape(self.smooth, -1).T
        return _Pairs(
            row=np.repeat(np.arange(sets), len(low)),
            low=np.tile(low, (sets, 1)),
            size=np.repeat(size[None], sets * len(low), axis=0),
        )

    def allowed(self, pairs: _Pairs) -> _Pairs:
        """Without the cells that a limit forbids altogether."""
        for limit in self.limits:
            i, j = limit.one, limit.other
            (low_i, low_j), (step_i, step_j) = self.path.box[[i, j], 0], self.step[[i, j]]
            most = low_i + (pairs.low[:, i] + pairs.size[:, i]) * step_i - low_j - pairs.low[:, j] * step_j
            least = low_i + pairs.low[:, i] * step_i - low_j - (pairs.low[:, j] + pairs.size[:, j]) * step_j
            inside = (least <= limit.most) & (most >= -limit.most)
            if not inside.all():
                pairs = pairs.take(np.flatnonzero(inside))
        return pairs

    def remainder(self, size: Ints, far: Array) -> Array:
        """(n, m): by how much a carried plane's height, of points within `far` (n,) of the centre, may be off by number."""
        half = size * self.step / 2
        turn = 2.0 * (half @ self.axis_rate)[:, None]
        rate = self.axis_rate
        turned = self.axis_turn * (1 + 1.03 * turn) + self.axis_bend * (turn + 1.29 * turn**2)
        turned = turned + rate**2 * (1.03 + 1.08 * turn**2)
        off = half**2 / 2 * (self.bend + 2 * self.centre_rate * rate * (1 + turn) + far[:, None] * turned)
        return np.where(turn > _MOST_TURN, np.inf, off)


class _Proof:
    def __init__(
        self, triangles: Array, path: Path, solid: Solid, enough_mm: float, limits: tuple[Limit, ...]
    ) -> None:
        self.triangles, self.chain, self.enough = triangles, solid.hull_chain, enough_mm
        self.grid = _Grid(path, solid, limits)
        self.support = Support(solid.profile)
        self.failed = np.zeros(len(triangles), dtype=bool)
        self.least = np.inf

    def run(self) -> tuple[Ints, float]:
        """What is proven of all triangles."""
        members = _grouped(self.triangles.mean(axis=1))
        pairs = self.grid.all_cells(len(members[0]))
        for level, inside in enumerate(members):
            last = level + 1 == len(members)
            within = inside if last else _leaves(members[level:])
            boxes = _boxes_around(self.triangles[within].reshape(len(within), -1, 3))
            size = np.linalg.norm(boxes[:, 0] - boxes[:, -1], axis=1)
            pairs = self._through(pairs, boxes, np.full(len(boxes), _OPEN_MM) if last else size)
            pairs = pairs.opened(inside)
        pairs = _without_doubles(pairs)
        while len(pairs.row):
            pairs = self._halved(pairs.take(np.flatnonzero(~self.failed[pairs.row])))
        return ~self.failed, self.least - HULL_SLACK_MM - self.grid.path.error_mm

    def _through(self, pairs: _Pairs, boxes: Array, open_mm: Array) -> _Pairs:
        """Halve cells until the solid moves less over each than its set asks for; those that are not proven by then."""
        left: list[_Pairs] = []
        while len(pairs.row):
            unproven, _, far = self._unproven(self.grid.allowed(pairs), boxes, _LOOKS_AT_GROUPS)
            moves = unproven.size * self.grid.moves_mm
            small = (moves.max(axis=1, initial=0.0) <= open_mm[unproven.row]) & np.isfinite(far)
            left.append(unproven.take(np.flatnonzero(small)))
            large = np.flatnonzero(~small)
            pairs = unproven.take(large).halved(np.argmax(moves[large], axis=1))
        return _joined(left)

    def _halved(self, pairs: _Pairs) -> _Pairs:
        """Triangles with their cells, those that are not proven halved; the finest of them fail."""
        unproven, score, _ = self._unproven(self.grid.allowed(pairs), self.triangles, _LOOKS)
        finest = unproven.size.max(axis=1, initial=0) <= 2
        self.failed[unproven.row[finest]] = True
        coarse = np.flatnonzero(~finest)
        unproven, score = unproven.take(coarse), score[coarse]
        return unproven.halved(np.argmax(np.where(unproven.size > 1, score, -1.0), axis=1))

    def _unproven(self, pairs: _Pairs, points: Array, looks: int) -> tuple[_Pairs, Array, Array]:
        """The pairs that are not proven, what each number leaves uncertain (n, m), and the remainder (n,)."""
        kept_pairs, scores, rests = [pairs.take(np.zeros(0, dtype=np.intp))], [], []
        for at in range(0, len(pairs.row), _ROWS):
            part = pairs.take(slice(at, at + _ROWS))  # type: ignore[arg-type]
            planes = _Planes(self, part, points)
            planes.look_around(looks)
            proven = planes.bound >= self.enough + HULL_SLACK_MM
            self.least = min(self.least, float(planes.bound[proven].min(initial=np.inf)))
            rows = np.flatnonzero(~proven)
            kept_pairs.append(part.take(rows))
            scores.append(planes.score(rows))
            rests.append(planes.rest[rows])
        if not scores:
            return pairs, np.zeros((0, self.grid.smooth)), np.zeros(0)
        return _joined(kept_pairs), np.concatenate(scores), np.concatenate(rests)


class _Planes:
    """Pairs with the best mixture of planes so far: its height at every corner of the set over every corner of the cell."""

    def __init__(self, proof: _Proof, pairs: _Pairs, points: Array) -> None:
        self.proof, grid = proof, proof.grid
        self.points = points[pairs.row]
        lowest = pairs.low @ grid.stride
        self.pose = grid.pose[lowest[:, None] + (pairs.size * grid.stride) @ grid.corners.T]
        middle = self.points.mean(axis=1)
        pose = grid.pose[lowest + (pairs.size // 2) @ grid.stride]
        distance, normal = self.seen(middle, pose)
        self.middle, self.middle_pose, self.normal = middle, pose, normal
        spread = self.points - middle[:, None]
        apart = middle - pose[:, :3]
        shifts = (pairs.size * grid.step) @ grid.centre_rate
        far = np.sqrt(np.einsum("ij,ij->i", apart, apart)) + np.sqrt(np.einsum("nki,nki->nk", spread, spread).max(axis=1))
        self.rest_by = grid.remainder(pairs.size, far + shifts + np.hypot(*grid.play))
        self.rest = self.rest_by.sum(axis=1)
        count = len(middle)
        self.heights = self.over(np.arange(count), normal, pose).reshape(count, -1)
        self.bound = self.heights.min(axis=1) - self.rest

    def seen(self, places: Array, pose: Array) -> tuple[Array, Array]:
        """Distance (n,) of places to the solid at poses (n, 6), and its gradient (n, 3)."""
        offset, axis = places - pose[:, :3], pose[:, 3:]
        along = np.einsum("ij,ij->i", offset, axis)
        off = offset - along[:, None] * axis
        away = np.sqrt(np.einsum("ij,ij->i", off, off))
        near = self.proof.chain.near(along, away)
        out = off / np.maximum(away, 1e-12)[:, None]
        return near.distance, near.across[:, None] * axis + near.away[:, None] * out

    def over(self, rows: Ints, normal: Array, pose: Array) -> Array:
        """(n, v, c): heights of v points over planes with these normals at these poses, carried to c corners."""
        first = pose[:, 3:]
        corner = self.pose[rows]
        axis = corner[:, :, 3:]
        steep = np.einsum("ij,ij->i", first, normal)
        apart = np.einsum("nci,ni->nc", axis, first)
        sideways = np.cross(first[:, None], axis)
        share = np.einsum("nci,ni->nc", sideways, normal) / (1.0 + apart)
        carried = apart[:, :, None] * normal[:, None] + steep[:, None, None] * axis
        carried -= np.einsum("nci,ni->nc", axis, normal)[:, :, None] * first[:, None]
        carried += share[:, :, None] * sideways
        heights: Array = np.matmul(self.points[rows], carried.transpose(0, 2, 1))
        reach = np.einsum("nci,nci->nc", carried, corner[:, :, :3]) + self.proof.support(steep)[:, None]
        play = self.proof.grid.play
        if play.any():
            reach = reach + np.abs(carried[:, :, :2]) @ play
        return heights - reach[:, None]

    def look_around(self, looks: int) -> None:
        """Look for planes that hold where those so far do not."""
        signs = self.proof.grid.signs
        corners = len(signs)
        rows = np.arange(len(self.bound))
        place, normal = self.middle, self.normal
        at = np.zeros((len(rows), signs.shape[1]))
        heights = self.heights.reshape(len(rows), -1, corners)
        for _ in range(looks):
            left = np.flatnonzero((self.bound[rows] < self.proof.enough + HULL_SLACK_MM) & np.isfinite(self.rest[rows]))
            if not len(left):
                return
            rows, place, normal, at, heights = rows[left], place[left], normal[left], at[left], heights[left]
            every = np.arange(len(rows))
            lowest = np.argmin(heights.reshape(len(rows), -1), axis=1)
            point, corner = lowest // corners, lowest % corners
            there, pose = self.points[rows, point], self.pose[rows, corner]
            _, normal_there = self.seen(there, pose)
            heights_there = self.over(rows, normal_there, pose)
            self._mix(rows, heights_there)
            # along each number, and among the points, as far as it stays downhill; or along all of them together
            by, way = signs[corner] - at, there - place
            before = heights[every, point] @ signs / corners * by
            after = heights_there[every, point] @ signs / corners * by
            way_before = np.einsum("ij,ij->i", normal, way)
            way_after = np.einsum("ij,ij->i", normal_there, way)
            whole = downhill(before.sum(axis=1) + way_before, after.sum(axis=1) + way_after)[:, None]
            apart = at + downhill(before, after) * by, place + downhill(way_before, way_after)[:, None] * way
            joint = at + whole * by, place + whole * way
            poses = self._between(rows, apart[0]), self._between(rows, joint[0])
            seen = self.seen(apart[1], poses[0]), self.seen(joint[1], poses[1])
            better = (seen[1][0] < seen[0][0])[:, None]
            at, place = np.where(better, joint[0], apart[0]), np.where(better, joint[1], apart[1])
            normal = np.where(better, seen[1][1], seen[0][1])
            heights = self.over(rows, normal, np.where(better, poses[1], poses[0]))
            self._mix(rows, heights)

    def _between(self, rows: Ints, at: Array) -> Array:
        """About the pose at places of cells, -1 to 1 by number."""
        share = np.prod((1.0 + self.proof.grid.signs * at[:, None]) / 2.0, axis=2)
        pose: Array = np.einsum("nc,nci->ni", share, self.pose[rows])
        pose[:, 3:] /= np.sqrt(np.einsum("ij,ij->i", pose[:, 3:], pose[:, 3:]))[:, None]
        return pose

    def _mix(self, rows: Ints, heights: Array) -> None:
        """Mix planes into what there is, where that helps."""
        before = self.heights[rows]
        change = heights.reshape(len(rows), -1) - before
        least = np.stack([(before + mix * change).min(axis=1) for mix in _MIXES])
        best = np.argmax(least, axis=0)
        least = least[best, np.arange(len(rows))] - self.rest[rows]
        helps = np.flatnonzero(least > self.bound[rows])
        own = rows[helps]
        self.heights[own] = before[helps] + np.array(_MIXES)[best[helps]][:, None] * change[helps]
        self.bound[own] = least[helps]

    def score(self, rows: Ints) -> Array:
        """(n, m): what each number leaves uncertain: how far it moves the solid across its section, and along."""
        pose, signs = self.pose[rows], self.proof.grid.signs
        moved = np.einsum("nci,cm->nmi", pose, signs) / (len(signs) / 2)
        axis, normal = self.middle_pose[rows, 3:], self.normal[rows]
        offset = self.middle[rows] - self.middle_pose[rows, :3]
        along = np.einsum("ij,ij->i", offset, axis)
        out = offset - along[:, None] * axis
        away = np.sqrt(np.einsum("ij,ij->i", out, out))
        out = out / np.maximum(away, 1e-12)[:, None]
        turned = moved[:, :, 3:]
        place = moved[:, :, :3] + along[:, None, None] * turned
        place -= (away[:, None] * np.einsum("nmi,ni->nm", turned, out))[:, :, None] * axis[:, None]
        across = np.einsum("ij,ij->i", normal, axis)[:, None] * out - np.einsum("ij,ij->i", normal, out)[:, None] * axis
        score: Array = np.einsum("nmi,ni->nm", place, across) ** 2 / _SHARP_MM
        return score + np.einsum("nmi,nmi->nm", place, place) / _BLUNT_MM + self.rest_by[rows]


def downhill(before: Array, after: Array) -> Array:
    """The share of the way after which a slope that was `before` at the start and is `after` at the end turns up."""
    turns = (before < 0) & (after > 0)
    share: Array = np.where(turns, before / np.where(turns, before - after, 1.0), np.where(before < 0, 1.0, 0.0))
    return share


def _joined(parts: list[_Pairs]) -> _Pairs:
    return _Pairs(
        row=np.concatenate([part.row for part in parts]),
        low=np.concatenate([part.low for part in parts]),
        size=np.concatenate([part.size for part in parts]),
    )


def _without_doubles(pairs: _Pairs) -> _Pairs:
    """Groups are filled up with triangles that they have already."""
    order = np.lexsort((*pairs.size.T, *pairs.low.T, pairs.row))
    pairs = pairs.take(order)
    table = np.column_stack([pairs.row, pairs.low, pairs.size])
    fresh = np.append(True, (table[1:] != table[:-1]).any(axis=1))[: len(table)]
    return pairs.take(np.flatnonzero(fresh))


def _grouped(places: Array) -> list[Ints]:
    """Groups of groups of places: for every level the members (groups, k), the last of them places.

    The places are halved across their longest side again and again, the last one repeated where they do not go up.
    """
    rows = np.arange(len(places))[None]
    while rows.shape[1] > _SMALL_GROUP:
        if rows.shape[1] % 2:
            rows = np.concatenate([rows, rows[:, -1:]], axis=1)
        inside = places[rows]
        longest = np.argmax(inside.max(axis=1) - inside.min(axis=1), axis=1)
        order = np.argsort(np.take_along_axis(inside, longest[:, None, None], axis=2)[:, :, 0], axis=1, kind="stable")
        rows = np.take_along_axis(rows, order, axis=1).reshape(2 * len(rows), -1)
    levels = [rows]
    while len(levels) < _GROUP_LEVELS and len(levels[0]) % _GROUP_BY == 0:
        levels.insert(0, np.arange(len(levels[0])).reshape(-1, _GROUP_BY))
    return levels


def _leaves(levels: list[Ints]) -> Ints:
    """(groups, k): the places in groups of the first of several levels."""
    within = levels[0]
    for members in levels[1:]:
        within = members[within].reshape(len(within), -1)
    return within


def _boxes_around(points: Array) -> Array:
    """(n, 8, 3): corners of boxes around sets of points (n, k, 3), along their own main directions."""
    middle = points.mean(axis=1)
    spread = points - middle[:, None]
    _, turn = np.linalg.eigh(np.einsum("nki,nkj->nij", spread, spread))
    seen = np.matmul(spread, turn)
    ends = np.stack([seen.min(axis=1), seen.max(axis=1)], axis=1)
    which = np.array(np.meshgrid(*[[0, 1]] * 3, indexing="ij")).reshape(3, -1).T
    corners = ends[:, which, np.arange(3)]
    around: Array = middle[:, None] + np.matmul(corners, turn.transpose(0, 2, 1))
    return around
