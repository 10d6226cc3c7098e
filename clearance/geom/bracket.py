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
from dataclasses import dataclass

import numpy as np

from clearance.defaults import TOLERANCE_MM
from clearance.geom.boxes import Boxes, bisected, halved, joined, with_lowest, with_room
from clearance.geom.chain import Chain, Near
from clearance.geom.limit import Limit, kept_within
from clearance.geom.path import Path
from clearance.geom.profile import Array, Line
from clearance.geom.revolve import HULL_SLACK_MM, Solid
from clearance.geom.touch import Touch
from clearance.geom.tree import Tree
from clearance.geom.view import Lean, View

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
_LOOK_FROM = 2_000
"""Boxes after which the most promising are followed downhill; again whenever there are so many times more."""
_LOOK_AGAIN = 4
_STARTS = 6
_FIRST_STEP = 0.05
"""Steps with which the witness is followed downhill, over the size of its triangle and the range of each number."""
_LAST_STEP = 1e-5
_ROUGH_STEP = 1e-3
_ROUGH_STEPS = 20
_SETTLED_MM = 1e-6
_SHARES = (0.5, 0.25, 0.75)
"""Of the nearer of two surface points, in a mean of the distances to both."""
_INSIDE_SHARE = 0.1
"""How much the sizes of a box inside the solid count at least when choosing what to split: a depth needs it small."""


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


def bracket(
    triangles: Array,
    path: Path,
    solid: Solid,
    *,
    share: Array | None = None,
    tolerance_mm: float = TOLERANCE_MM,
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

    def run(
        self, tolerance_mm: float, work: int, deep_work: int, progress: Callable[[int, float, float], None] | None
    ) -> Bracket:
        middle = self.path.box.mean(axis=1)[None]
        half = ((self.path.box[:, 1] - self.path.box[:, 0]) / 2)[None]
        now = [self._bounded(self._roots(middle, half), tolerance_mm)]
        later: list[tuple[float, Boxes]] = []
        finished = True
        polished = False
        looked = _LOOK_FROM
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
            now = with_lowest(now, later)
            taken = [part for boxes in now for part in self._best_of(boxes, drop, later)]
            children = [child for boxes in taken for child in self._split(boxes)]
            bounded = [self._bounded(child, tolerance_mm) for child in children if len(child)]
            now = joined([boxes for boxes in bounded if len(boxes)])
            if self.boxes > looked and now:
                looked = _LOOK_AGAIN * self.boxes
                self._look_downhill(now[-1])
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

    def _roots(self, middle: Array, half: Array) -> Boxes:
        """Everything, for each of some settings with their ranges."""
        count = len(middle)
        weights = np.zeros(2) if self.share is None else np.array([self.share.min(), self.share.max()])
        return Boxes(
            node=np.zeros(count, dtype=np.intp),
            corners=np.zeros((0, 3, 3)),
            weights=np.repeat(weights[None], count, axis=0),
            middle=middle,
            half=half,
            group=np.arange(count),
        )

    def _drop_above(self, tolerance_mm: float, boxes: Boxes | None = None) -> float | Array:
        """Boxes that are proven no lower than this need no more looking at."""
        room = 0.9 * tolerance_mm
        if self.upper < 0 and self.boxes > _EXACT_DEPTH_WORK:
            room = max(room, 0.9 * max(DEEP_MM, DEEP_SHARE * -self.upper))
        return self.upper - room

    def _best_of(self, boxes: Boxes, drop: float | Array, later: list[tuple[float, Boxes]]) -> list[Boxes]:
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

    def _split(self, boxes: Boxes) -> list[Boxes]:
        """Split every box where most is uncertain; a few boxes are split twice over, to save rounds."""
        if not len(boxes):
            return []
        rounds = 3 if len(boxes) < 200 else 2 if len(boxes) < 1500 else 1
        current = [boxes]
        for _ in range(rounds):
            current = [part for b in current for part in self._split_once(b) if len(part)]
        return joined(current)

    def _split_once(self, boxes: Boxes) -> list[Boxes]:
        which = np.argmax(boxes.score, axis=1)
        numbers = self.path.numbers
        parts: list[Boxes] = []
        by_number = np.flatnonzero(which < numbers)
        if len(by_number):
            parts.append(halved(boxes.take(by_number), which[by_number]))
        by_place = np.flatnonzero(which == numbers)
        if len(by_place):
            placed = boxes.take(by_place)
            parts += self._opened(placed) if placed.node[0] >= 0 else [bisected(placed)]
        return parts

    def _opened(self, boxes: Boxes) -> list[Boxes]:
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

    def _bounded(self, boxes: Boxes, tolerance_mm: float) -> Boxes:
        """Boxes with their bounds and scores; improves the upper end on the way; drops what limits forbid."""
        boxes = self._allowed(boxes)
        if not len(boxes):
            boxes.bound = np.zeros(0)
            boxes.score = np.zeros((0, self.path.numbers + 1))
            boxes.best_setting = np.zeros((0, self.path.numbers))
            boxes.best_corner = np.zeros(0, dtype=np.intp)
            return boxes
        self.boxes += len(boxes)
        view = View(boxes, self.path, self.solid, self.tree, self.limits)
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

    def _allowed(self, boxes: Boxes) -> Boxes:
        for limit in self.limits:
            apart = np.abs(boxes.middle[:, limit.one] - boxes.middle[:, limit.other])
            boxes_keep = apart - boxes.half[:, limit.one] - boxes.half[:, limit.other] <= limit.most
            if not boxes_keep.all():
                rows = np.flatnonzero(boxes_keep)
                if boxes.bound.shape[0] != len(boxes):
                    boxes = with_room(boxes, self.path.numbers)
                boxes = boxes.take(rows)
        return boxes

    def _hull_bound(self, boxes: Boxes, view: View) -> None:
        lean = view.lean(view.across, view.gradient)
        boxes.bound = view.distance - HULL_SLACK_MM + lean.least
        boxes.best_setting = boxes.middle + lean.ends
        boxes.best_corner = lean.corner
        boxes.score = view.score(lean)

    def _touch_bound(self, boxes: Boxes, view: View, rows: Ints, drop: float | Array) -> None:
        """Raise the hull's bound of some boxes by tangent planes taken where the box comes nearest to the hull."""
        if not len(rows):
            return
        touch = Touch(view, rows, self.solid.hull_chain)
        by_size = boxes.score[rows]
        for _ in range(_TOUCHES):
            touch.step()
            bound = touch.bound - HULL_SLACK_MM
            boxes.bound[rows] = np.maximum(boxes.bound[rows], bound)
            score = touch.score
            inside = bound < 0
            if inside.any():
                # the hull may be as deep as that with nothing left uncertain about it: then what the middle says stands
                settled = score.sum(axis=1) < drop - bound
                at_least = (_INSIDE_SHARE if self.hollow else 0.0) * by_size
                held = np.where(settled[:, None], by_size, np.maximum(score, at_least))
                score = np.where(inside[:, None], held, score)
            boxes.score[rows] = score
            left = np.flatnonzero(bound < drop)
            rows, touch, bound, by_size = rows[left], touch.take(left), bound[left], by_size[left]
            if not len(rows):
                return
        if touch.weights is None:
            return
        best = np.arange(len(rows)) if len(rows) <= self.tried else np.argpartition(bound, self.tried)[: self.tried]
        best = best[bound[best] < self.upper]
        if len(best):
            self._measure_at(boxes, rows[best], touch.weights[best], touch.moved[best])

    def _cover_bound(self, boxes: Boxes, view: View, rows: Ints) -> None:
        """Raise the bounds of some boxes by the cover's pieces, by depth, or by the plain bound."""
        some = view.take(rows)
        lowest = np.full(len(rows), np.inf)
        away_from = np.full(len(rows), np.inf)
        kept: Lean | None = None
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

    def _between_two_sides(self, within: View, near: Near, better: Array, kept: Lean, rows: Ints) -> None:
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

    def _try(self, boxes: Boxes) -> None:
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

    def measure(self, points: Array, share: Array, settings: Array, triangle: Ints) -> Array:
        """Measure real points at real settings exactly, and keep the closest; gives all distances."""
        settings = kept_within(settings, self.path.box, self.limits)
        distance = self._distance(points, share, settings)
        best = int(np.argmin(distance))
        if distance[best] < self.upper:
            self.upper = float(distance[best])
            self.setting, self.point, self.point_share = settings[best], points[best], float(share[best])
            self.triangle = int(triangle[best])
        return distance

    def _distance(self, points: Array, share: Array, settings: Array) -> Array:
        centre, axis = self.path.at(settings)
        place = points if self.share is None else points + share[:, None] * self.path.far_at(settings)
        offset = place - centre
        along = np.einsum("ij,ij->i", offset, axis)
        radial = np.sqrt(np.maximum(np.einsum("ij,ij->i", offset, offset) - along * along, 0.0))
        return self.solid.chain.near(along, radial).distance

    def _settle_witness(self) -> None:
        """Follow the closest place found downhill until none gains a millionth of a millimetre.

        The lower end does not need it: it makes the upper end, and what is read off the witness, the same whichever
        way the boxes were split.
        """
        if np.isfinite(self.upper):
            self._downhill(np.array([self.triangle]), self.point[None], self.setting[None], _LAST_STEP, None)

    def _look_downhill(self, boxes: Boxes) -> None:
        """Follow the most promising of some boxes a little way downhill.

        Corners of boxes come near the least distance only when the boxes are small; until then nothing can be put
        aside.
        """
        if boxes.node[0] >= 0 or self.upper < 0:
            return
        count = min(_STARTS, len(boxes))
        rows = np.argpartition(boxes.bound, count - 1)[:count]
        points = boxes.corners[rows].mean(axis=1)
        self._downhill(-1 - boxes.node[rows], points, boxes.middle[rows], _ROUGH_STEP, _ROUGH_STEPS)

    def _downhill(self, triangle: Ints, points: Array, setting: Array, last_step: float, steps: int | None) -> None:
        """Follow places (m, 3) downhill, each on its triangle and along every number, in ever smaller steps."""
        corners = self.triangles[triangle]
        shares = np.zeros((len(triangle), 3)) if self.share is None else self.share[triangle]
        numbers = self.path.numbers
        low, high = self.path.box.T
        ways = np.vstack([np.eye(numbers), -np.eye(numbers), np.zeros((6, numbers))]) * (high - low)
        weights = _shares_of(corners, points)
        step = np.full(len(triangle), _FIRST_STEP)
        least = np.full(len(triangle), np.inf)
        while (step > last_step).any() and steps != 0:
            steps = None if steps is None else steps - 1
            towards = step[:, None, None] * (np.eye(3) - weights[:, None])
            away = np.clip(weights[:, None] - towards, 0.0, None)
            still = np.repeat(weights[:, None], 2 * numbers, axis=1)
            tried = np.concatenate([still, weights[:, None] + towards, away / away.sum(axis=2)[:, :, None]], axis=1)
            settings = (setting[:, None] + step[:, None, None] * ways).reshape(len(setting) * len(ways), numbers)
            settings = kept_within(settings, self.path.box, self.limits)
            places = (tried @ corners).reshape(-1, 3)
            share = np.einsum("mni,mi->mn", tried, shares).ravel()
            distance = self.measure(places, share, settings, np.repeat(triangle, len(ways))).reshape(len(triangle), -1)
            best = np.argmin(distance, axis=1)
            every = np.arange(len(best))
            nearer = distance[every, best] < least - _SETTLED_MM
            least = np.where(nearer, distance[every, best], least)
            weights = np.where(nearer[:, None], tried[every, best], weights)
            setting = np.where(nearer[:, None], settings.reshape(len(best), len(ways), numbers)[every, best], setting)
            step = np.where(nearer, step, step / 4.0)

    def _measure_at(self, boxes: Boxes, rows: Ints, weights: Array, moved: Array) -> None:
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


def _shares_of(corners: Array, points: Array) -> Array:
    """(m, 3) weights of the corners (m, 3, 3) of triangles that make points (m, 3) on them."""
    system = np.concatenate([np.swapaxes(corners, 1, 2), np.ones((len(corners), 1, 3))], axis=1)
    right = np.concatenate([points, np.ones((len(points), 1))], axis=1)
    weights = np.clip((np.linalg.pinv(system) @ right[:, :, None])[:, :, 0], 0.0, 1.0)
    made: Array = weights / weights.sum(axis=1)[:, None]
    return made


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

    def _touch_bound(self, boxes: Boxes, view: View, rows: Ints, drop: float | Array) -> None:
        """Not worth its while: nothing moves here."""

    def _drop_above(self, tolerance_mm: float, boxes: Boxes | None = None) -> float | Array:
        assert boxes is not None
        upper = self.uppers[boxes.group]
        # a depth is a picture's darkest colour: near enough is enough
        needed: Array = upper - np.where(upper < 0, np.maximum(tolerance_mm, 0.05 * -upper), tolerance_mm)
        return needed

    def _try(self, boxes: Boxes) -> None:
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

    def _drop_above(self, tolerance_mm: float, boxes: Boxes | None = None) -> float | Array:
        return self.enough

    def _best_of(self, boxes: Boxes, drop: float | Array, later: list[tuple[float, Boxes]]) -> list[Boxes]:
        if self.nearer and len(boxes) and boxes.node[0] < 0:
            done = np.isin(-1 - boxes.node, list(self.nearer))
            if done.any():
                boxes = boxes.take(np.flatnonzero(~done))
        return super()._best_of(boxes, drop, later) if len(boxes) else []

    def _settle_witness(self) -> None:
        pass

    def _look_downhill(self, boxes: Boxes) -> None:
        pass

    def measure(self, points: Array, share: Array, settings: Array, triangle: Ints) -> Array:
        """Measure real points at real settings exactly, and note the triangles that come too near."""
        settings = kept_within(settings, self.path.box, self.limits)
        distance = self._distance(points, share, settings)
        for row in np.flatnonzero(distance < self.enough + self.doubt):
            self.nearer.setdefault(int(triangle[row]), settings[row])
        return distance


def _shared_with_hull(solid: Solid) -> Ints:
    """For each surface of the hull: is it a surface of the solid too, and no bridge over a hollow?"""
    chain: Chain = solid.hull_chain
    own = {(e.start, e.end) for e in solid.profile.surfaces if isinstance(e, Line)}
    tight = []
    for element in chain.surfaces:
        tight.append(not isinstance(element, Line) or (element.start, element.end) in own)
    return np.array(tight)
