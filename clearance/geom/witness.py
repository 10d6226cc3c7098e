"""What real places at real settings say of a gap: its upper end, or which triangles are too near.

The exact distance is measured at the corner of each promising box that its linear part says is closest, where a box
touches the hull, and downhill from the best of these. Each kind of witness also says how low a bound must be for its
box to matter.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np

from clearance.defaults import TOLERANCE_MM
from clearance.geom.bounds import Touched
from clearance.geom.boxes import Boxes
from clearance.geom.passing import Passing
from clearance.geom.profile import Array

Ints = np.ndarray

DEEP_MM = 0.5
"""How wide the bracket of a depth may be where it took long to find, or `DEEP_SHARE` of it, whichever is more."""
DEEP_SHARE = 0.02
EXACT_DEPTH_WORK = 60_000
"""Boxes after which a depth may be answered to `DEEP_MM` or `DEEP_SHARE`."""
_TRIED = 128
"""Boxes per round whose best corner is measured exactly."""
_STARTS = 6
_TAKEN_UP = 2
"""Of the places that another question found, so many are followed downhill."""
_FIRST_STEP = 0.05
"""Steps with which the witness is followed downhill, over the size of its triangle and the range of each number."""
_LAST_STEP = 1e-5
_ROUGH_STEP = 1e-3
_ROUGH_STEPS = 20
_SETTLED_MM = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class Roughly:
    """How closely a deep hit is told to who asks what is hit: both ends stay proven, and stand further apart."""

    from_mm: float
    """Deeper than this."""
    share: float
    """Of the depth, so far."""

    def room_mm(self, upper_mm: float) -> float:
        """How far below the least distance found the lower end may stand; nothing where that is not deep."""
        return self.share * -upper_mm if upper_mm < -self.from_mm else 0.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Place:
    """A real place at a real setting."""

    point: Array
    """(3,): at rest."""
    share: float
    """Of the far move."""
    setting: Array
    """(k,)"""
    triangle: int


class Witness(Protocol):
    """What a search finds at real places."""

    passing: Passing
    upper: float
    """The least distance found, mm; infinite where that is not asked."""
    looked: int
    """Boxes looked at so far."""
    touches_nodes: bool
    """Does it pay to look for where a set of triangles touches the hull before it is opened?"""

    def drop(self, boxes: Boxes | None = None) -> float | Array:
        """Boxes that are proven no lower than this, mm, need no more looking at."""

    def undecided(self, boxes: Boxes) -> Boxes:
        """The boxes about which anything is still to be found."""

    def measure_corners(self, boxes: Boxes) -> None:
        """Measure promising boxes at the corner that their linear part says is closest."""

    def measure_touched(self, boxes: Boxes, rows: Ints, touched: Touched) -> None:
        """Measure where open ones of these rows come nearest to the hull."""

    def look_downhill(self, boxes: Boxes) -> None:
        """Follow the most promising of some boxes a little way downhill."""


class Measuring:
    """Measures the most promising boxes, a fixed number of them to a round."""

    touches_nodes = True
    tried = _TRIED
    upper: float = np.inf

    def __init__(self, passing: Passing) -> None:
        self.passing = passing
        self.looked = 0

    def measure(self, points: Array, share: Array, settings: Array, triangle: Ints) -> Array:
        """Measure points (m, 3) of triangles (m,) at settings (m, k) exactly; (m,) all distances, mm."""
        raise NotImplementedError

    def measure_corners(self, boxes: Boxes) -> None:
        """Measure the most promising boxes at the corner that their linear part says is closest."""
        rows = np.arange(len(boxes))
        if len(rows) > self.tried:
            rows = np.argpartition(boxes.bound, self.tried)[: self.tried]
        rows = rows[boxes.bound[rows] < self.upper]
        if not len(rows):
            return
        triangle, points, share = _closest_corners(boxes, rows, self.passing)
        settings = np.concatenate([boxes.best_setting[rows], boxes.middle[rows]])
        twice = np.concatenate([triangle, triangle])
        self.measure(np.concatenate([points, points]), np.concatenate([share, share]), settings, twice)

    def measure_touched(self, boxes: Boxes, rows: Ints, touched: Touched) -> None:
        """Measure the most promising of the open ones of these rows where each comes nearest to the hull."""
        touch, bound = touched.places, touched.open_bound
        if touch.weights is None or not len(bound):
            return
        best = np.arange(len(bound)) if len(bound) <= self.tried else np.argpartition(bound, self.tried)[: self.tried]
        best = best[bound[best] < self.upper]
        if not len(best):
            return
        at, weights = rows[touched.open][best], touch.weights[best]
        points, share = _mixed(boxes, at, weights)
        self.measure(points, share, boxes.middle[at] + touch.moved[best], -1 - boxes.node[at])


def _closest_corners(boxes: Boxes, rows: Ints, passing: Passing) -> tuple[Ints, Array, Array]:
    """Of each of these rows: a triangle, the corner that its linear part says is closest, and that corner's share."""
    if boxes.node[0] >= 0:
        triangle = passing.tree.sample(boxes.node[rows])
        return triangle, passing.triangles[triangle, 0], passing.first_share_of(triangle)
    corner = boxes.best_corner[rows]
    return -1 - boxes.node[rows], boxes.corners[rows, corner], boxes.weights[rows, corner]


def _mixed(boxes: Boxes, rows: Ints, weights: Array) -> tuple[Array, Array]:
    """Of triangles (m,), the places (m, 3) that weights (m, 3) of their corners make, and their shares (m,)."""
    return (
        np.einsum("ni,nij->nj", weights, boxes.corners[rows]),
        np.einsum("ni,ni->n", weights, boxes.weights[rows]),
    )


class Nearest(Measuring):
    """The nearest place found, and the setting at which it is met."""

    def __init__(self, passing: Passing, tolerance_mm: float, roughly: Roughly | None = None) -> None:
        super().__init__(passing)
        self.tolerance_mm, self.roughly = tolerance_mm, roughly
        self.setting = passing.path.box.mean(axis=1)
        self.point = passing.triangles[0, 0]
        self.share = 0.0
        self.triangle = 0
        self._settled = np.inf

    def drop(self, boxes: Boxes | None = None) -> float:
        """What cannot lower the answer by more than the tolerance; of a depth that took long, a wider one, mm."""
        room = 0.9 * self.tolerance_mm
        if self.upper < 0 and self.looked > EXACT_DEPTH_WORK:
            room = max(room, 0.9 * max(DEEP_MM, DEEP_SHARE * -self.upper))
        if self.roughly is not None:
            room = max(room, 0.9 * self.roughly.room_mm(self.upper))
        return self.upper - room

    def undecided(self, boxes: Boxes) -> Boxes:
        """All of them."""
        return boxes

    def measure(self, points: Array, share: Array, settings: Array, triangle: Ints) -> Array:
        """Measure real points at real settings exactly, and keep the closest; (m,) all distances, mm."""
        settings = self.passing.within(settings)
        distance = self.passing.distance_mm(points, share, settings)
        best = int(np.argmin(distance))
        if distance[best] < self.upper:
            self.upper = float(distance[best])
            self.setting, self.point, self.share = settings[best], points[best], float(share[best])
            self.triangle = int(triangle[best])
        return distance

    @property
    def place(self) -> Place:
        """The nearest place found."""
        return Place(point=self.point, share=self.share, setting=self.setting, triangle=self.triangle)

    def look_at(self, places: Sequence[Place]) -> Array:
        """(m,): the distance of places that were the nearest to another solid, at their settings."""
        points, settings = np.array([one.point for one in places]), np.array([one.setting for one in places])
        share, triangle = np.array([one.share for one in places]), np.array([one.triangle for one in places])
        return self.measure(points, share, settings, triangle)

    def take_up(self, places: Sequence[Place]) -> None:
        """Begin with places that were the nearest to another solid, the best of them followed downhill."""
        best = np.argsort(self.look_at(places), kind="stable")[:_TAKEN_UP]
        points, settings = np.array([places[i].point for i in best]), np.array([places[i].setting for i in best])
        # a rough question has no use for its last digits
        last_step = _LAST_STEP if self.tolerance_mm <= TOLERANCE_MM else _ROUGH_STEP
        self._downhill(np.array([places[i].triangle for i in best]), points, settings, last_step, None)
        self._settled = self.upper

    def settle(self) -> None:
        """Follow the closest place found downhill until none gains a millionth of a millimetre.

        The lower end does not need it: it makes the upper end, and what is read off the witness, the same whichever
        way the boxes were split.
        """
        if np.isfinite(self.upper) and self.upper != self._settled:
            self._downhill(np.array([self.triangle]), self.point[None], self.setting[None], _LAST_STEP, None)

    def look_downhill(self, boxes: Boxes) -> None:
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
        corners = self.passing.triangles[triangle]
        shares = self.passing.shares_of(triangle)
        numbers = self.passing.path.numbers
        low, high = self.passing.path.box.T
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
            settings = self.passing.within(settings)
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

    def polish(self) -> None:
        """Look closely around the deepest place found: deep inside, corners alone close the bracket slowly."""
        rng = np.random.default_rng(3)
        box = self.passing.path.box
        for scale in np.repeat(np.geomspace(0.5, 0.002, 10), 3):
            corners = self.passing.triangles[self.triangle]
            mix = rng.dirichlet((1.0, 1.0, 1.0), 300)
            # towards a random point of its own triangle: never off the part
            points = self.point + scale * (mix @ corners - self.point)
            share = np.zeros(300)
            if self.passing.share is not None:
                share = self.share + scale * (mix @ self.passing.share[self.triangle] - self.share)
            settings = self.setting + rng.normal(size=(300, len(box))) * (box[:, 1] - box[:, 0]) * scale
            self.measure(points, share, np.clip(settings, box[:, 0], box[:, 1]), np.full(300, self.triangle))


class TooNear(Measuring):
    """Not how near, but which triangles come nearer than asked, or nearly: such a one is looked into no further."""

    tried = 8 * _TRIED

    def __init__(self, passing: Passing, enough_mm: float, doubt_mm: float) -> None:
        super().__init__(passing)
        self.enough_mm, self.doubt_mm = enough_mm, doubt_mm
        self.nearer: dict[int, Array] = {}

    def drop(self, boxes: Boxes | None = None) -> float:
        """What is as far off as was asked, mm."""
        return self.enough_mm

    def undecided(self, boxes: Boxes) -> Boxes:
        """Those of triangles that are not known to come too near; nodes of which one is known are to be opened next.

        However finely their settings are split, they tell nothing more of that triangle, and hide the others.
        """
        if not (self.nearer and len(boxes)):
            return boxes
        nodes = boxes.node[0] >= 0
        triangle = self.passing.tree.sample(boxes.node) if nodes else -1 - boxes.node
        known = np.isin(triangle, list(self.nearer))
        if nodes:
            boxes.score[known, -1] = np.inf
            return boxes
        return boxes.take(np.flatnonzero(~known)) if known.any() else boxes

    def measure(self, points: Array, share: Array, settings: Array, triangle: Ints) -> Array:
        """Measure real points at real settings exactly, and note the triangles that come too near."""
        settings = self.passing.within(settings)
        distance = self.passing.distance_mm(points, share, settings)
        for row in np.flatnonzero(distance < self.enough_mm + self.doubt_mm):
            self.nearer.setdefault(int(triangle[row]), settings[row])
        return distance

    def look_downhill(self, boxes: Boxes) -> None:
        """Nothing: a triangle is too near or it is not."""


class NearestOfEach:
    """The same question at many settings side by side, each with an upper end of its own. For pictures."""

    upper: float = np.inf
    touches_nodes = False

    def __init__(self, passing: Passing, count: int, tolerance_mm: float) -> None:
        self.passing, self.tolerance_mm = passing, tolerance_mm
        self.uppers = np.full(count, np.inf)
        self.looked = 0

    def drop(self, boxes: Boxes | None = None) -> Array:
        """(n,) what cannot lower the answer at the setting of each box by more than the tolerance, mm."""
        assert boxes is not None
        upper = self.uppers[boxes.group]
        # a depth is a picture's darkest colour: near enough is enough
        room = np.where(upper < 0, np.maximum(self.tolerance_mm, 0.05 * -upper), self.tolerance_mm)
        needed: Array = upper - room
        return needed

    def undecided(self, boxes: Boxes) -> Boxes:
        """All of them."""
        return boxes

    def measure_corners(self, boxes: Boxes) -> None:
        """Measure every box at its closest corner."""
        _, points, share = _closest_corners(boxes, np.arange(len(boxes)), self.passing)
        distance = self.passing.distance_mm(points, share, boxes.middle)
        np.minimum.at(self.uppers, boxes.group, distance)

    def measure_touched(self, boxes: Boxes, rows: Ints, touched: Touched) -> None:
        """Measure the open ones of these rows where each comes nearest to the hull."""
        at, weights = rows[touched.open], touched.places.weights
        if weights is None or not len(at):
            return
        points, share = _mixed(boxes, at, weights)
        np.minimum.at(self.uppers, boxes.group[at], self.passing.distance_mm(points, share, boxes.middle[at]))

    def look_downhill(self, boxes: Boxes) -> None:
        """Nothing: no box moves here."""


def _shares_of(corners: Array, points: Array) -> Array:
    """(m, 3) weights of the corners (m, 3, 3) of triangles that make points (m, 3) on them."""
    system = np.concatenate([np.swapaxes(corners, 1, 2), np.ones((len(corners), 1, 3))], axis=1)
    right = np.concatenate([points, np.ones((len(points), 1))], axis=1)
    weights = np.clip((np.linalg.pinv(system) @ right[:, :, None])[:, :, 0], 0.0, 1.0)
    made: Array = weights / weights.sum(axis=1)[:, None]
    return made
