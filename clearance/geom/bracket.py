"""The least gap between triangles and a moving solid of revolution, between two proven ends.

A *box* is a set of points (a tree node, or one triangle) together with a range of every number of the path. For each
box several lower bounds of the gap are known, and the best is used:

* hull  - the distance to the revolved convex hull is a convex function of the point, so its tangent plane at the middle
          lies below it everywhere. Over the set of points a linear function is least at a corner; along the path the
          place moves linearly but for a remainder that the path's bends bound. Second-order tight wherever the nearest
          place of the solid lies on the hull, inside and out.
* cover - off the solid, the same for every convex piece of its cover, the least of them. A piece that lies further
          from the axis than the point pays for the curvature of its circle. Used only where it proves the box free.
* depth - inside the solid, the distance to the surface point that is nearest to the middle; second-order tight too.
* plain - the distance moves no more than the point does.

The upper end is the exact distance at real points and real settings: the corner of each promising box that its linear
part says is closest. Boxes that cannot lower the answer by more than the tolerance are put aside, and the least bound
among them is the lower end; the rest are split where most is uncertain, best first.

docs/how-gaps-are-measured.md has the derivation.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace

import numpy as np

from clearance.geom.chain import Chain, Near
from clearance.geom.limit import Limit, kept_within, least_linear
from clearance.geom.path import Path, Rates
from clearance.geom.profile import Array, Line
from clearance.geom.revolve import HULL_SLACK_MM, Solid
from clearance.geom.touch import Touch
from clearance.geom.tree import Tree

Ints = np.ndarray

DEFAULT_WORK = 6_000_000
"""Boxes looked at before a search gives up and says so."""
DEEP_WORK = 400_000
"""The same for a depth: that it hits is certain by then, and only how deep is not."""
_EXACT_DEPTH_WORK = 60_000
"""Boxes after which a depth may be answered to `DEEP_MM` or `DEEP_SHARE`, whichever is more."""
_FLOOR_FROM = 10_000
"""Boxes after which it pays to ask how deep anything can lie at all."""
DEEP_MM = 0.5
DEEP_SHARE = 0.02
_BATCH = 4_000
_TRIED = 128
"""Boxes per round whose best corner is measured exactly."""
_TOUCHES = 2
"""Steps towards the place where a box touches the hull."""
_FIRST_STEP = 0.05
"""Steps with which the witness is followed downhill, over the size of its triangle and the range of each number."""
_LAST_STEP = 1e-5
_SETTLED_MM = 1e-6
_SHARES = (0.5, 0.25, 0.75)
"""Of the nearer of two surface points, in a mean of the distances to both."""
_INSIDE_SHARE = 0.1
"""How much the sizes of a box inside the solid count at least when choosing what to split: a depth needs it small."""
_LEAN = 0.3
"""How much a linear part counts when choosing what to split."""
_BEND_MM = 60.0
"""Radius of curvature guessed when choosing what to split; it steers the search and proves nothing."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Bracket:
    """at_least <= least gap <= at_most, and where the upper end was found."""

    at_least_mm: float
    at_most_mm: float
    setting: Array
    """(k,): the witness setting."""
    point_mm: Array
    """(3,): the witness point, at rest."""
    share: float
    """Of the far move that the witness point makes."""
    finished: bool
    boxes: int


@dataclass(slots=True, kw_only=True, eq=False)
class _Boxes:
    """Boxes of one sort: tree nodes (corners is None) or triangles."""

    node: Ints
    """(n,) node numbers; of (a bit of) triangle t, -1 - t."""
    corners: Array
    """(n, 3, 3) of triangles; (0, 3, 3) where they are nodes."""
    weights: Array
    """(n, 3) share of the far move at each corner; for nodes (n, 2): least and greatest."""
    middle: Array
    """(n, k) middle setting."""
    half: Array
    """(n, k) half range."""
    group: Ints = field(default_factory=lambda: np.zeros(0, dtype=np.intp))
    """(n,) which of several questions, asked side by side, a box belongs to."""
    bound: Array = field(default_factory=lambda: np.zeros(0))
    """(n,) proven lower bound."""
    score: Array = field(default_factory=lambda: np.zeros((0, 0)))
    """(n, k + 1) what each number, and the set of points, leaves uncertain."""
    best_setting: Array = field(default_factory=lambda: np.zeros((0, 0)))
    best_corner: Ints = field(default_factory=lambda: np.zeros(0, dtype=np.intp))

    def __len__(self) -> int:
        return len(self.middle)

    def take(self, rows: Ints) -> _Boxes:
        """These boxes alone."""
        return _Boxes(
            node=self.node[rows],
            corners=self.corners[rows] if len(self.corners) else self.corners,
            weights=self.weights[rows],
            middle=self.middle[rows],
            half=self.half[rows],
            group=self.group[rows],
            bound=self.bound[rows],
            score=self.score[rows],
            best_setting=self.best_setting[rows],
            best_corner=self.best_corner[rows],
        )


def bracket(
    triangles: Array,
    path: Path,
    solid: Solid,
    *,
    share: Array | None = None,
    tolerance_mm: float = 0.05,
    limits: tuple[Limit, ...] = (),
    work: int = DEFAULT_WORK,
    deep_work: int = DEEP_WORK,
    tree: Tree | None = None,
    progress: Callable[[int, float, float], None] | None = None,
) -> Bracket:
    """The least signed distance from triangles (n, 3, 3) to the solid along the path, to within a tolerance.

    `share` (n, 3) is the share of the path's far move that each corner makes. `limits` cut corners off the box of
    settings. `work` and, once a hit is certain, `deep_work` limit how many boxes are looked at. `progress` is called
    with (boxes looked at, lower end, upper end). The path's own fit error is taken off the lower end.
    """
    search = _Search(triangles, share, path, solid, limits, tree if tree is not None else Tree(triangles))
    return search.run(tolerance_mm, work, min(work, deep_work), progress)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Reached:
    """The triangles that come nearer than asked, each with a place and a setting at which it does."""

    triangle: Ints
    """(m,)"""
    setting: Array
    """(m, k)"""
    at_least_mm: float
    """Proven of all the others."""
    finished: bool
    """Were all the others proven? If not, `at_least_mm` says no more than that they are no nearer."""
    boxes: int


def reached(
    triangles: Array,
    path: Path,
    solid: Solid,
    *,
    nearer_than_mm: float,
    doubt_mm: float,
    limits: tuple[Limit, ...] = (),
    work: int = DEFAULT_WORK,
) -> Reached:
    """Which triangles (n, 3, 3) the solid comes nearer to than asked, somewhere along the path.

    All others are proven to keep at least that, the path's fit error allowed for. Triangles that miss it by less than
    `doubt_mm` are counted among those that do not: to tell them apart would take far longer.
    """
    if not len(triangles):
        none = np.zeros(0, dtype=np.intp)
        return Reached(triangle=none, setting=np.zeros((0, path.numbers)), at_least_mm=np.inf, finished=True, boxes=0)
    search = _ReachSearch(triangles, None, path, solid, limits, Tree(triangles))
    search.enough = nearer_than_mm + path.error_mm
    search.doubt = doubt_mm
    search.nearer = {}
    found = search.run(0.0, work, work, None)
    return Reached(
        triangle=np.array(list(search.nearer), dtype=np.intp),
        setting=np.array(list(search.nearer.values())).reshape(len(search.nearer), path.numbers),
        at_least_mm=found.at_least_mm,
        finished=found.finished,
        boxes=found.boxes,
    )


def least_at_settings(
    triangles: Array,
    path: Path,
    solid: Solid,
    settings: Array,
    *,
    share: Array | None = None,
    tolerance_mm: float = 0.1,
    tree: Tree | None = None,
) -> Array:
    """The least distance from triangles (n, 3, 3) to the solid at each of m settings (m, k), for maps and pictures.

    Measured at real points, so never less than the truth, and no more than `tolerance_mm` above it (a depth: 5 %).
    """
    search = _ManySearch(triangles, share, path, solid, (), tree if tree is not None else Tree(triangles))
    return search.least(settings, tolerance_mm)


class _Search:
    batch = _BATCH
    tried = _TRIED

    def __init__(
        self, triangles: Array, share: Array | None, path: Path, solid: Solid, limits: tuple[Limit, ...], tree: Tree
    ) -> None:
        self.triangles, self.share, self.path, self.solid = triangles, share, path, solid
        self.limits, self.tree = limits, tree
        self.tight = _shared_with_hull(solid)
        self.hollow = not self.tight.all()
        self.upper = np.inf
        self.floor = -np.inf
        self.aside = np.inf
        self.boxes = 0
        self.setting = path.box.mean(axis=1)
        self.point = triangles[0, 0]
        self.point_share = 0.0
        self.triangle = 0
        self.measured = 0

    def run(
        self, tolerance_mm: float, work: int, deep_work: int, progress: Callable[[int, float, float], None] | None
    ) -> Bracket:
        middle = self.path.box.mean(axis=1)[None]
        half = ((self.path.box[:, 1] - self.path.box[:, 0]) / 2)[None]
        now = [self._bounded(self._roots(middle, half), tolerance_mm)]
        later: list[tuple[float, _Boxes]] = []
        finished = True
        polished = False
        while now or later:
            if self.boxes > (deep_work if self.upper < 0 else work):
                finished = False
                self.aside = min(self.aside, *(float(b.bound.min()) for b in now), *(low for low, _ in later))
                break
            if self.upper < 0 and self.boxes > _EXACT_DEPTH_WORK and not polished:
                self._polish()
                polished = True
            if self.upper < 0 and self.boxes > _FLOOR_FROM and not np.isfinite(self.floor):
                # near the middle of the section no bound is tight, but none need be lower than this
                self.floor = -self.solid.deepest_mm()
            drop = self._drop_above(tolerance_mm)
            now = _with_lowest(now, later)
            taken = [part for boxes in now for part in self._best_of(boxes, drop, later)]
            children = [child for boxes in taken for child in self._split(boxes)]
            bounded = [self._bounded(child, tolerance_mm) for child in children if len(child)]
            now = _joined([boxes for boxes in bounded if len(boxes)])
            if progress is not None and now:
                progress(self.boxes, min(float(b.bound.min()) for b in now), self.upper)
        self._settle_witness()
        at_least = min(max(self.aside, self.floor), self.upper) - self.path.error_mm
        return Bracket(
            at_least_mm=float(at_least),
            at_most_mm=float(self.upper),
            setting=self.setting,
            point_mm=self.point,
            share=float(self.point_share),
            finished=finished,
            boxes=self.boxes,
        )

    def _roots(self, middle: Array, half: Array) -> _Boxes:
        """Everything, for each of some settings with their ranges."""
        count = len(middle)
        weights = np.zeros(2) if self.share is None else np.array([self.share.min(), self.share.max()])
        return _Boxes(
            node=np.zeros(count, dtype=np.intp),
            corners=np.zeros((0, 3, 3)),
            weights=np.repeat(weights[None], count, axis=0),
            middle=middle,
            half=half,
            group=np.arange(count),
        )

    def _drop_above(self, tolerance_mm: float, boxes: _Boxes | None = None) -> float | Array:
        """Boxes that are proven no lower than this need no more looking at."""
        room = 0.9 * tolerance_mm
        if self.upper < 0 and self.boxes > _EXACT_DEPTH_WORK:
            room = max(room, 0.9 * max(DEEP_MM, DEEP_SHARE * -self.upper))
        return self.upper - room

    def _best_of(self, boxes: _Boxes, drop: float | Array, later: list[tuple[float, _Boxes]]) -> list[_Boxes]:
        """The most promising of some boxes; the rest wait, and what cannot matter is put aside."""
        keep = boxes.bound < drop
        if not keep.all():
            self.aside = min(self.aside, float(boxes.bound[~keep].min()))
            boxes = boxes.take(np.flatnonzero(keep))
        if len(boxes) <= self.batch:
            return [boxes] if len(boxes) else []
        order = np.argpartition(boxes.bound, self.batch)
        waiting = boxes.take(order[self.batch :])
        later.append((float(waiting.bound.min()), waiting))
        return [boxes.take(order[: self.batch])]

    def _split(self, boxes: _Boxes) -> list[_Boxes]:
        """Split every box where most is uncertain; a few boxes are split twice over, to save rounds."""
        if not len(boxes):
            return []
        rounds = 3 if len(boxes) < 200 else 2 if len(boxes) < 1500 else 1
        current = [boxes]
        for _ in range(rounds):
            current = [part for b in current for part in self._split_once(b) if len(part)]
        return _joined(current)

    def _split_once(self, boxes: _Boxes) -> list[_Boxes]:
        which = np.argmax(boxes.score, axis=1)
        numbers = self.path.numbers
        parts: list[_Boxes] = []
        by_number = np.flatnonzero(which < numbers)
        if len(by_number):
            parts.append(_halved(boxes.take(by_number), which[by_number]))
        by_place = np.flatnonzero(which == numbers)
        if len(by_place):
            placed = boxes.take(by_place)
            parts += self._opened(placed) if placed.node[0] >= 0 else [_bisected(placed)]
        return parts

    def _opened(self, boxes: _Boxes) -> list[_Boxes]:
        """Nodes give way to their children, and the last of them to their triangles."""
        leaf = self.tree.is_leaf(boxes.node)
        parts = []
        if not leaf.all():
            inner = boxes.take(np.flatnonzero(~leaf))
            child, row = self.tree.children(inner.node)
            opened = inner.take(row)
            opened.node = child
            opened.score[:, -1] /= 4.0
            parts.append(opened)
        if leaf.any():
            last = boxes.take(np.flatnonzero(leaf))
            triangle, row = self.tree.triangles_of(last.node)
            opened = last.take(row)
            opened.node = -1 - triangle
            opened.corners = self.triangles[triangle]
            opened.weights = np.zeros((len(triangle), 3)) if self.share is None else self.share[triangle]
            opened.score[:, -1] /= 4.0
            parts.append(opened)
        return parts

    def _bounded(self, boxes: _Boxes, tolerance_mm: float) -> _Boxes:
        """Boxes with their bounds and scores; improves the upper end on the way; drops what limits forbid."""
        boxes = self._allowed(boxes)
        if not len(boxes):
            boxes.bound = np.zeros(0)
            boxes.score = np.zeros((0, self.path.numbers + 1))
            boxes.best_setting = np.zeros((0, self.path.numbers))
            boxes.best_corner = np.zeros(0, dtype=np.intp)
            return boxes
        self.boxes += len(boxes)
        view = _View(boxes, self.path, self.solid, self.tree, self.limits)
        self._hull_bound(boxes, view)
        self._try(boxes)
        drop = self._drop_above(tolerance_mm, boxes)
        self._touch_bound(boxes, view, np.flatnonzero((boxes.bound < drop) & self.tight[view.element]), drop)
        drop = self._drop_above(tolerance_mm, boxes)
        weak = np.flatnonzero((boxes.bound < drop) & ~self.tight[view.element])
        deep = np.flatnonzero((boxes.bound < drop) & self.tight[view.element] & (view.distance < 0))
        rows = np.concatenate([weak, deep])
        if len(rows):
            self._cover_bound(boxes, view, rows)
        boxes.bound = np.maximum(boxes.bound, self.floor)
        return boxes

    def _allowed(self, boxes: _Boxes) -> _Boxes:
        for limit in self.limits:
            apart = np.abs(boxes.middle[:, limit.one] - boxes.middle[:, limit.other])
            boxes_keep = apart - boxes.half[:, limit.one] - boxes.half[:, limit.other] <= limit.most
            if not boxes_keep.all():
                rows = np.flatnonzero(boxes_keep)
                if boxes.bound.shape[0] != len(boxes):
                    boxes = _with_room(boxes, self.path.numbers)
                boxes = boxes.take(rows)
        return boxes

    def _hull_bound(self, boxes: _Boxes, view: _View) -> None:
        lean = view.lean(view.across, view.gradient)
        boxes.bound = view.distance - HULL_SLACK_MM + lean.least
        boxes.best_setting = boxes.middle + lean.ends
        boxes.best_corner = lean.corner
        boxes.score = view.score(lean)

    def _touch_bound(self, boxes: _Boxes, view: _View, rows: Ints, drop: float | Array) -> None:
        """Raise the hull's bound of some boxes by tangent planes taken where the box comes nearest to the hull."""
        if not len(rows):
            return
        touch = Touch(view, rows, self.solid.hull_chain)
        spread = boxes.score.copy()
        for _ in range(_TOUCHES):
            touch.step()
            bound = touch.bound - HULL_SLACK_MM
            boxes.bound[rows] = np.maximum(boxes.bound[rows], bound)
            score = touch.score
            inside = bound < 0
            if inside.any():
                # the hull may be as deep as that with nothing left uncertain about it: then what the middle says stands
                settled = score.sum(axis=1) < drop - bound
                least = np.where(settled, 1.0, _INSIDE_SHARE if self.hollow else 0.0)[:, None] * spread[rows]
                score = np.where(inside[:, None], np.where(settled[:, None], least, np.maximum(score, least)), score)
            boxes.score[rows] = score
            left = np.flatnonzero(bound < drop)
            rows, touch, bound = rows[left], touch.take(left), bound[left]
            if not len(rows):
                return
        if touch.weights is None:
            return
        best = np.arange(len(rows)) if len(rows) <= self.tried else np.argpartition(bound, self.tried)[: self.tried]
        best = best[bound[best] < self.upper]
        if len(best):
            self._measure_at(boxes, rows[best], touch.weights[best], touch.moved[best])

    def _cover_bound(self, boxes: _Boxes, view: _View, rows: Ints) -> None:
        """Raise the bounds of some boxes by the cover's pieces, by depth, or by the plain bound."""
        some = view.take(rows)
        lowest = np.full(len(rows), np.inf)
        away_from = np.full(len(rows), np.inf)
        kept: _Lean | None = None
        for chain in self.solid.piece_chains:
            near = chain.near(some.along, some.radial)
            lean = some.lean(near.across, near.across[:, None] * some.axis + near.away[:, None] * some.outward)
            tangent = near.distance + lean.least - _circle_bend(near.away, some.radial, some.furthest)
            bound = np.maximum(tangent, near.distance - some.furthest)
            kept = lean if kept is None else kept.where(bound < lowest, lean)
            lowest = np.minimum(lowest, bound)
            away_from = np.minimum(away_from, near.distance)
        assert kept is not None
        better = np.maximum(np.where(lowest > 0, lowest, -np.inf), away_from - some.furthest)
        inside = away_from <= 0
        below = np.zeros(len(rows), dtype=bool)
        if inside.any():
            deep = np.flatnonzero(inside)
            near = self.solid.chain.near(some.along[deep], some.radial[deep])
            within = some.take(deep)
            lean = within.lean(near.across, near.across[:, None] * within.axis + near.away[:, None] * within.outward)
            better[deep] = _depth_bound(near.distance, lean.least, within.furthest)
            kept.put(deep, lean)
            self._between_two_sides(within, near, better, kept, deep)
            below[deep] = near.distance > view.distance[rows[deep]] + HULL_SLACK_MM
        raised = better > boxes.bound[rows]
        boxes.bound[rows] = np.maximum(boxes.bound[rows], better)
        # what bounds a box also says where in it to look, and what to split; the hull cannot where others are nearer
        steer = np.flatnonzero(raised | (away_from > 0) | below)
        at = rows[steer]
        boxes.best_setting[at] = boxes.middle[at] + kept.ends[steer]
        boxes.best_corner[at] = kept.corner[steer]
        boxes.score[at] = some.take(steer).score(kept.take(steer))

    def _between_two_sides(self, within: _View, near: Near, better: Array, kept: _Lean, rows: Ints) -> None:
        """Raise depth bounds of boxes about the middle of the section, in place.

        There one surface point recedes as the other comes nearer. No point is deeper than any mean of its distances to
        two of them, and of a mean the linear parts may cancel. The second is the one nearest to a place across the box.
        """
        y = within.along - within.furthest * near.across
        r = np.abs(within.radial - within.furthest * near.away)
        other = self.solid.chain.near(y, r)
        to_y, to_r = y - other.distance * other.across - within.along, r - other.distance * other.away - within.radial
        far = np.maximum(np.hypot(to_y, to_r), 1e-9)
        across, away = to_y / far, to_r / far
        bends = _point_bend(-near.distance, within.furthest), _point_bend(far, within.furthest)
        for share in _SHARES:
            rest = 1.0 - share
            mixed = share * near.across + rest * across, share * near.away + rest * away
            lean = within.lean(mixed[0], mixed[0][:, None] * within.axis + mixed[1][:, None] * within.outward)
            bound = share * (near.distance - bends[0]) - rest * (far + bends[1]) + lean.least
            higher = np.flatnonzero(bound > better[rows])
            better[rows[higher]] = bound[higher]
            kept.put(rows[higher], lean.take(higher))

    def _try(self, boxes: _Boxes) -> None:
        """Measure the most promising boxes at the corner that their linear part says is closest."""
        rows = np.arange(len(boxes))
        if len(rows) > self.tried:
            rows = np.argpartition(boxes.bound, self.tried)[: self.tried]
        rows = rows[boxes.bound[rows] < self.upper]
        if not len(rows):
            return
        corner = boxes.best_corner[rows]
        if boxes.node[0] >= 0:
            triangle = self.tree.sample(boxes.node[rows])
            points = self.triangles[triangle, 0]
            share = np.zeros(len(rows)) if self.share is None else self.share[triangle, 0]
        else:
            triangle = -1 - boxes.node[rows]
            points = boxes.corners[rows, corner]
            share = boxes.weights[rows, corner]
        settings = np.concatenate([boxes.best_setting[rows], boxes.middle[rows]])
        twice = np.concatenate([triangle, triangle])
        self.measure(np.concatenate([points, points]), np.concatenate([share, share]), settings, twice)

    def measure(self, points: Array, share: Array, settings: Array, triangle: Ints) -> None:
        """Measure real points at real settings exactly, and keep the closest."""
        settings = kept_within(settings, self.path.box, self.limits)
        distance = self._distance(points, share, settings)
        best = int(np.argmin(distance))
        if distance[best] < self.upper:
            self.upper = float(distance[best])
            self.setting, self.point, self.point_share = settings[best], points[best], float(share[best])
            self.triangle = int(triangle[best])
            self.measured = best

    def _distance(self, points: Array, share: Array, settings: Array) -> Array:
        centre, axis = self.path.at(settings)
        place = points if self.share is None else points + share[:, None] * self.path.far_at(settings)
        offset = place - centre
        along = np.einsum("ij,ij->i", offset, axis)
        radial = np.sqrt(np.maximum(np.einsum("ij,ij->i", offset, offset) - along * along, 0.0))
        return self.solid.chain.near(along, radial).distance

    def _settle_witness(self) -> None:
        """Follow the closest place found downhill, on its triangle and along every number, in ever smaller steps.

        The lower end does not need it: it makes the upper end, and what is read off the witness, the same whichever
        way the boxes were split.
        """
        if not np.isfinite(self.upper):
            return
        corners = self.triangles[self.triangle]
        shares = np.zeros(3) if self.share is None else self.share[self.triangle]
        weights = np.clip(np.linalg.lstsq(np.vstack([corners.T, np.ones(3)]), np.append(self.point, 1.0))[0], 0.0, 1.0)
        weights /= weights.sum()
        numbers = self.path.numbers
        low, high = self.path.box.T
        ways = np.vstack([np.eye(numbers), -np.eye(numbers), np.zeros((6, numbers))]) * (high - low)
        step = _FIRST_STEP
        while step > _LAST_STEP:
            towards = np.eye(3) - weights
            away = np.clip(weights - step * towards, 0.0, None)
            still = np.repeat(weights[None], 2 * numbers, axis=0)
            tried = np.vstack([still, weights + step * towards, away / away.sum(axis=1)[:, None]])
            settings = np.clip(self.setting + step * ways, low, high)
            before = self.upper
            count = len(tried)
            self.measure(tried @ corners, tried @ shares, settings, np.full(count, self.triangle))
            if self.upper < before - _SETTLED_MM:
                weights = tried[self.measured]
            else:
                step /= 4.0

    def _measure_at(self, boxes: _Boxes, rows: Ints, weights: Array, moved: Array) -> None:
        """Measure places of triangles, given by weights of their corners (m, 3), at settings moved from the middle."""
        points = np.einsum("ni,nij->nj", weights, boxes.corners[rows])
        share = np.einsum("ni,ni->n", weights, boxes.weights[rows])
        self.measure(points, share, boxes.middle[rows] + moved, -1 - boxes.node[rows])

    def _polish(self) -> None:
        """Look closely around the deepest place found: deep inside, corners alone close the bracket slowly."""
        rng = np.random.default_rng(3)
        box = self.path.box
        for scale in np.repeat(np.geomspace(0.5, 0.002, 10), 3):
            corners = self.triangles[self.triangle]
            mix = rng.dirichlet((1.0, 1.0, 1.0), 300)
            # towards a random point of its own triangle: never off the part
            points = self.point + scale * (mix @ corners - self.point)
            share = np.zeros(300)
            if self.share is not None:
                share = self.point_share + scale * (mix @ self.share[self.triangle] - self.point_share)
            settings = self.setting + rng.normal(size=(300, len(box))) * (box[:, 1] - box[:, 0]) * scale
            self.measure(points, share, np.clip(settings, box[:, 0], box[:, 1]), np.full(300, self.triangle))


@dataclass(slots=True, kw_only=True, eq=False)
class _Lean:
    """The linear part of a distance over boxes."""

    slope: Array
    """(n, k) by each number."""
    ends: Array
    """(n, k) where it is least, from the middle."""
    spread: Array
    """(n,) least over the set of points, at the middle setting."""
    corner: Ints
    """(n,) the corner of a triangle where it is least."""
    least: Array
    """(n,) least over the whole box, what is not linear taken off."""

    def where(self, which: Ints, other: _Lean) -> _Lean:
        """The other where `which` says so."""
        return _Lean(
            slope=np.where(which[:, None], other.slope, self.slope),
            ends=np.where(which[:, None], other.ends, self.ends),
            spread=np.where(which, other.spread, self.spread),
            corner=np.where(which, other.corner, self.corner),
            least=np.where(which, other.least, self.least),
        )

    def put(self, rows: Ints, other: _Lean) -> None:
        """Put another's rows in these."""
        self.slope[rows], self.ends[rows], self.spread[rows] = other.slope, other.ends, other.spread
        self.corner[rows], self.least[rows] = other.corner, other.least

    def take(self, rows: Ints) -> _Lean:
        """These rows alone."""
        return _Lean(
            slope=self.slope[rows],
            ends=self.ends[rows],
            spread=self.spread[rows],
            corner=self.corner[rows],
            least=self.least[rows],
        )


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


_VIEWED = (
    "half", "middle", "axis", "axis_by", "offset", "along", "radial", "outward", "remainder", "furthest", "drift",
    "half_moves", "remainder_by", "size", "turned",
)  # fmt: skip
"""What of a view some of its rows take along."""


class _ManySearch(_Search):
    """The same question at many settings side by side, each with an upper end of its own. For pictures."""

    def least(self, settings: Array, tolerance_mm: float) -> Array:
        """(m,) least distance at each of settings (m, k), no more than `tolerance_mm` above the truth."""
        self.uppers = np.full(len(settings), np.inf)
        now = [self._bounded(self._roots(settings, np.zeros_like(settings)), tolerance_mm)]
        while now:
            open_boxes = []
            for boxes in now:
                keep = boxes.bound < self._drop_above(tolerance_mm, boxes)
                if keep.any():
                    open_boxes.append(boxes.take(np.flatnonzero(keep)))
            children = [child for boxes in open_boxes for child in self._split_once(boxes)]
            now = [b for b in (self._bounded(c, tolerance_mm) for c in children if len(c)) if len(b)]
        return self.uppers

    def _touch_bound(self, boxes: _Boxes, view: _View, rows: Ints, drop: float | Array) -> None:
        """Not worth its while: nothing moves here."""

    def _drop_above(self, tolerance_mm: float, boxes: _Boxes | None = None) -> float | Array:
        assert boxes is not None
        upper = self.uppers[boxes.group]
        # a depth is a picture's darkest colour: near enough is enough
        needed: Array = upper - np.where(upper < 0, np.maximum(tolerance_mm, 0.05 * -upper), tolerance_mm)
        return needed

    def _try(self, boxes: _Boxes) -> None:
        rows = np.arange(len(boxes))
        if boxes.node[0] >= 0:
            triangle = self.tree.sample(boxes.node)
            points = self.triangles[triangle, 0]
            share = np.zeros(len(rows)) if self.share is None else self.share[triangle, 0]
        else:
            points = boxes.corners[rows, boxes.best_corner]
            share = boxes.weights[rows, boxes.best_corner]
        distance = self._distance(points, share, boxes.middle)
        np.minimum.at(self.uppers, boxes.group, distance)


class _ReachSearch(_Search):
    """Not how near, but which triangles come nearer than `enough`, or nearly: such a one is looked into no further."""

    batch = 2 * _BATCH
    tried = 8 * _TRIED
    enough: float
    doubt: float
    nearer: dict[int, Array]

    def _drop_above(self, tolerance_mm: float, boxes: _Boxes | None = None) -> float | Array:
        return self.enough

    def _best_of(self, boxes: _Boxes, drop: float | Array, later: list[tuple[float, _Boxes]]) -> list[_Boxes]:
        if self.nearer and len(boxes) and boxes.node[0] < 0:
            done = np.isin(-1 - boxes.node, list(self.nearer))
            if done.any():
                boxes = boxes.take(np.flatnonzero(~done))
        return super()._best_of(boxes, drop, later) if len(boxes) else []

    def _settle_witness(self) -> None:
        pass

    def measure(self, points: Array, share: Array, settings: Array, triangle: Ints) -> None:
        """Measure real points at real settings exactly, and note the triangles that come too near."""
        settings = kept_within(settings, self.path.box, self.limits)
        distance = self._distance(points, share, settings)
        for row in np.flatnonzero(distance < self.enough + self.doubt):
            self.nearer.setdefault(int(triangle[row]), settings[row])


class _View:
    """Everything about boxes that more than one bound needs, at their middles."""

    def __init__(self, boxes: _Boxes, path: Path, solid: Solid, tree: Tree, limits: tuple[Limit, ...]) -> None:
        rates = path.rates(boxes.middle)
        self.half, self.middle, self.limits = boxes.half, boxes.middle, limits
        self.rates = rates
        self.axis = rates.axis
        self.centre_by, self.axis_by = rates.centre_by, rates.axis_by
        self._place(boxes, rates, tree)
        self.offset = self.place - rates.centre
        self.along = np.einsum("ij,ij->i", self.offset, self.axis)
        radial = self.offset - self.along[:, None] * self.axis
        self.radial = np.sqrt(np.einsum("ij,ij->i", radial, radial))
        self.outward = radial / np.maximum(self.radial, 1e-12)[:, None]
        near = solid.hull_chain.near(self.along, self.radial)
        self.distance, self.across, self.element = near.distance, near.across, near.element
        self.gradient = near.across[:, None] * self.axis + near.away[:, None] * self.outward
        self._motion(boxes, path)

    def _place(self, boxes: _Boxes, rates: Rates, tree: Tree) -> None:
        """Middle of each set of points where it is at the middle setting, and its shape about that."""
        if boxes.node[0] >= 0:
            self.place = tree.middle[boxes.node]
            self.extent = tree.half[boxes.node]
            self.corners = None
            least, greatest = boxes.weights[:, 0], boxes.weights[:, 1]
            if greatest.any():
                self.place = self.place + ((least + greatest) / 2)[:, None] * rates.far
                self.extent = self.extent + ((greatest - least) / 2)[:, None] * np.abs(rates.far)
            self.share, self.share_half = (least + greatest) / 2, (greatest - least) / 2
            self.size = np.sqrt(np.einsum("ij,ij->i", self.extent, self.extent))
        else:
            corners = boxes.corners
            weights = boxes.weights
            self.share = weights.mean(axis=1)
            self.share_half = np.abs(weights - self.share[:, None]).max(axis=1)
            if weights.any():
                corners = corners + weights[:, :, None] * rates.far[:, None, :]
            self.place = corners.mean(axis=1)
            self.extent = None
            self.corners = corners - self.place[:, None]
            self.size = np.sqrt(np.einsum("nij,nij->ni", self.corners, self.corners).max(axis=1))

    def _motion(self, boxes: _Boxes, path: Path) -> None:
        """How the middle place moves as seen from the hub: linear part by number, and a bound on the rest."""
        half, rates = boxes.half, self.rates
        self.far_by = rates.far_by
        carries = bool(self.share.any() or self.share_half.any())
        drift = self.centre_by - self.share[:, None, None] * self.far_by if carries else self.centre_by
        self.drift = drift
        reach = np.sqrt(self.along**2 + self.radial**2)
        centre_step = np.sqrt(np.einsum("nki,nki->nk", drift, drift)) * half
        axis_step = np.sqrt(np.einsum("nki,nki->nk", self.axis_by, self.axis_by)) * half
        centre_bend = 0.5 * half * (half @ path.centre_bend)
        if carries:
            centre_bend = centre_bend + 0.5 * self.share[:, None] * half * (half @ path.far_bend)
        axis_bend = 0.5 * half * (half @ path.axis_bend)
        self.turned = (axis_step + axis_bend).sum(axis=1)
        # only what bends the axis sideways turns the hub otherwise than straight on
        sideways = 0.5 * half * (half @ path.axis_turn) + self.turned[:, None] * axis_bend
        shifted = (centre_step + centre_bend).sum(axis=1)
        bends = centre_bend + reach[:, None] * sideways
        remainder = bends.sum(axis=1)
        remainder = remainder + 0.5 * self.turned**2 * reach + self.turned * (self.size + shifted)
        self.furthest = self.size + shifted + reach * self.turned
        if carries:
            far_step = np.sqrt(np.einsum("nki,nki->nk", self.far_by, self.far_by)) * half
            stretched = self.share_half * (far_step + 0.5 * half * (half @ path.far_bend)).sum(axis=1)
            remainder = remainder + stretched
            self.furthest = self.furthest + stretched
        self.remainder = remainder
        self.axis_bent = sideways.sum(axis=1)
        self.centre_bent = centre_bend.sum(axis=1)
        self.shifted = shifted
        self.half_moves = centre_step + reach[:, None] * axis_step
        self.bent_by = bends + (axis_step + axis_bend) * (0.5 * self.turned * reach)[:, None]
        self.remainder_by = self.bent_by + (axis_step + axis_bend) * shifted[:, None]
        self.remainder_by = self.remainder_by + self.turned[:, None] * centre_step + axis_step * self.size[:, None]

    def lean(self, across: Array, gradient: Array) -> _Lean:
        """The linear part of a distance with this gradient, over the set of points and along the path."""
        lever = across[:, None] * self.offset - self.along[:, None] * gradient
        slope = np.einsum("nki,ni->nk", self.axis_by, lever) - np.einsum("nki,ni->nk", self.drift, gradient)
        if self.corners is None:
            assert self.extent is not None
            spread = -np.einsum("ij,ij->i", np.abs(gradient), self.extent)
            corner = np.zeros(len(gradient), dtype=np.intp)
        else:
            rise = np.einsum("nij,nj->ni", self.corners, gradient)
            corner = np.argmin(rise, axis=1)
            spread = rise[np.arange(len(rise)), corner]
        steep, ends = least_linear(slope.T, self.half.T, self.middle.T, self.limits)
        return _Lean(slope=slope, ends=ends.T, spread=spread, corner=corner, least=spread + steep - self.remainder)

    def score(self, lean: _Lean) -> Array:
        """(n, k + 1): what each number, and the set of points, leaves uncertain."""
        # what is linear is exact at a corner of the box, and that corner is measured: only what bends needs splitting.
        # The corners of a tree node's box are no points of the part, so there all of the spread counts.
        by_number = _LEAN * np.abs(lean.slope) * self.half + self.half_moves**2 / _BEND_MM + self.remainder_by
        spread = -lean.spread if self.corners is None else -_LEAN * lean.spread
        by_place = spread + self.size**2 / _BEND_MM + self.turned * self.size
        return np.column_stack([by_number, by_place])

    def take(self, rows: Ints) -> _View:
        """These boxes alone."""
        some: _View = object.__new__(_View)
        some.limits = self.limits
        for name in _VIEWED:
            setattr(some, name, getattr(self, name)[rows])
        some.corners = None if self.corners is None else self.corners[rows]
        some.extent = None if self.extent is None else self.extent[rows]
        return some


def _with_room(boxes: _Boxes, numbers: int) -> _Boxes:
    """Boxes that have no bounds yet, with room for them."""
    count = len(boxes)
    return replace(
        boxes,
        bound=np.zeros(count),
        score=np.zeros((count, numbers + 1)),
        best_setting=np.zeros((count, numbers)),
        best_corner=np.zeros(count, dtype=np.intp),
    )


def _shared_with_hull(solid: Solid) -> Ints:
    """For each surface of the hull: is it a surface of the solid too, and no bridge over a hollow?"""
    chain: Chain = solid.hull_chain
    own = {(e.start, e.end) for e in solid.profile.surfaces if isinstance(e, Line)}
    tight = []
    for element in chain.surfaces:
        tight.append(not isinstance(element, Line) or (element.start, element.end) in own)
    return np.array(tight)


def _halved(boxes: _Boxes, number: Ints) -> _Boxes:
    """Each box split in two along one number."""
    rows = np.arange(len(boxes))
    both = boxes.take(np.concatenate([rows, rows]))
    twice = np.concatenate([number, number])
    at = np.arange(len(both))
    step = both.half[at, twice] / 2
    both.half[at, twice] = step
    both.middle[at, twice] += np.where(at < len(boxes), -step, step)
    both.score[at, twice] /= 2.5
    return both


def _bisected(boxes: _Boxes) -> _Boxes:
    """Each triangle split in two across its longest side."""
    corners = boxes.corners
    sides = np.roll(corners, -1, axis=1) - corners
    longest = np.argmax(np.einsum("nij,nij->ni", sides, sides), axis=1)
    rows = np.arange(len(boxes))
    a, b, c = longest, (longest + 1) % 3, (longest + 2) % 3
    middle = (corners[rows, a] + corners[rows, b]) / 2
    weight = (boxes.weights[rows, a] + boxes.weights[rows, b]) / 2
    both = boxes.take(np.concatenate([rows, rows]))
    first = np.stack([corners[rows, a], middle, corners[rows, c]], axis=1)
    second = np.stack([middle, corners[rows, b], corners[rows, c]], axis=1)
    both.corners = np.concatenate([first, second])
    w = boxes.weights
    both.weights = np.concatenate(
        [np.stack([w[rows, a], weight, w[rows, c]], axis=1), np.stack([weight, w[rows, b], w[rows, c]], axis=1)]
    )
    both.score[:, -1] /= 1.8
    return both


def _with_lowest(now: list[_Boxes], later: list[tuple[float, _Boxes]]) -> list[_Boxes]:
    """What is at hand, with the lowest of what waits where that is lower still."""
    if not later:
        return now
    lowest = min(range(len(later)), key=lambda i: later[i][0])
    if now and min(float(b.bound.min()) for b in now) <= later[lowest][0]:
        return now
    return _joined([*now, later.pop(lowest)[1]])


def _joined(parts: list[_Boxes]) -> list[_Boxes]:
    """Boxes of one sort together: nodes in one, triangles in another."""
    joined = []
    for nodes in (True, False):
        same = [p for p in parts if len(p) and (p.node[0] >= 0) == nodes]
        if len(same) <= 1:
            joined += same
            continue
        joined.append(
            _Boxes(
                node=np.concatenate([p.node for p in same]),
                corners=np.concatenate([p.corners for p in same]),
                weights=np.concatenate([p.weights for p in same]),
                middle=np.concatenate([p.middle for p in same]),
                half=np.concatenate([p.half for p in same]),
                group=np.concatenate([p.group for p in same]),
                bound=np.concatenate([p.bound for p in same]),
                score=np.concatenate([p.score for p in same]),
                best_setting=np.concatenate([p.best_setting for p in same]),
                best_corner=np.concatenate([p.best_corner for p in same]),
            )
        )
    return joined
