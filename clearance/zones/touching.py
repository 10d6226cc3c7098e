"""Where and from what setting on a patch is too close: what the person sees first when the corner is cycled.

* gone    - how much of the travel a position uses: the larger of bump, the other wheel's bump and steer, each as a
            share of its own end, from ride height and straight ahead
* reached - closer than a level: touching for a patch that the tire goes into, the required gap for one that it only
            comes near
* first   - the position that has gone least of those at which the patch is reached, and its point that is nearest there

Looked for along straight lines from ride height to positions some 10 mm of movement apart, then to either side of the
best, ever closer. It is a real position at which the patch is reached; one that has gone a little less may exist.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from clearance.geom.nearest import Nearest
from clearance.mockup.mockup import MockUp
from clearance.mockup.paths import Seen
from clearance.pose import Array
from clearance.suspension.position import Cycle, Position
from clearance.well.part import Part
from clearance.zones.closest import closest_about, closest_of
from clearance.zones.place import Place, place_of

_LINES = 8
_SECTIONS = 3
"""How often a line is cut in `_PARTS`."""
_PARTS = np.arange(1, 13) / 13.0
_ROUNDS = 5
_ASIDE = 0.12
"""Of each number's travel, how far to either side the first look goes."""
_MOST_POINTS = 400


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FirstTouch:
    """Where a patch is reached first."""

    point_mm: Array
    """(3,): where the part rests."""
    place: Place
    """Where in the cycle, and where the point is then."""
    touches: bool
    """Whether that is touching; else it is closer than required."""
    at_ride_height: bool
    """Whether it is so before anything has moved."""

    @property
    def position(self) -> Position:
        """Where in the cycle that is."""
        return self.place.position

    @property
    def where(self) -> str:
        """The place in words."""
        return self.place.where


def first_touch(
    nearest: Nearest,
    seen: Seen,
    mockup: MockUp,
    part: Part,
    triangles: Array,
    points: Array,
    deepest: Array,
    close: Array,
    *,
    level_mm: float,
    touches: bool,
) -> FirstTouch:
    """Of a patch of these triangles (n, 3, 3), with its deepest point (3,) and its points (p, 3) that may be reached at
    all, which comes closer than `level_mm` at the settings `close` (m, k).
    """
    points = np.concatenate([deepest[None], points])
    few = points[np.unique(np.linspace(0, len(points) - 1, min(len(points), _MOST_POINTS)).astype(int))]
    cycle = mockup.suspension.cycle
    ride = np.array([[min(max(0.0, low), high) for low, high in cycle.box]])
    patch = _Patch(nearest=nearest, points=few, level_mm=level_mm, rest=seen.settings(ride)[0], ends=_ends(seen, cycle))
    at = patch.rest if patch.reached(patch.rest[None])[0] else _closer(patch, close)
    point = patch.nearest_point(at)[None]
    found = closest_about(triangles, closest_of(point, nearest.look(point, at[None]), 0), nearest.look)
    return FirstTouch(
        point_mm=found.point,
        place=place_of(mockup, part, seen, found.point, found.setting),
        touches=touches,
        at_ride_height=bool(np.all(at == patch.rest)),
    )


def _ends(seen: Seen, cycle: Cycle) -> Array:
    """(m, 2): how far each moving number goes down and up from ride height; never nothing."""
    box = np.array(cycle.box, dtype=float)[list(seen.moving)]
    rest = np.clip(0.0, box[:, :1], box[:, 1:])
    ends: Array = np.maximum(np.abs(box - rest), 1e-9)
    return ends


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Patch:
    """Points of a patch, and what is asked of them at settings."""

    nearest: Nearest
    points: Array
    level_mm: float
    rest: Array
    """(k,): ride height, straight ahead."""
    ends: Array

    def reached(self, settings: Array) -> np.ndarray:
        """(n,): at which of settings (n, k) some point is closer than the level."""
        return self.nearest.any_nearer(self.points, settings, self.level_mm)

    def nearest_point(self, setting: Array) -> Array:
        point: Array = self.points[self.nearest.nearest_at(self.points, setting)]
        return point

    def gone(self, settings: Array) -> Array:
        """(n,): the share of the travel that settings (n, k) use."""
        count = len(self.ends)
        off = settings[:, :count] - self.rest[:count]
        share: Array = np.max(np.where(off < 0, -off / self.ends[:, 0], off / self.ends[:, 1]), axis=1, initial=0.0)
        return share

    def along(self, settings: Array) -> Array:
        """(n, k): the first that is reached on the line from ride height to each setting that is, to a part in 2197.

        Of the lines that end no sooner than another, some setting that is reached.
        """
        low, high = np.zeros(len(settings)), np.ones(len(settings))
        gone = self.gone(settings)
        rows = np.arange(len(settings))
        for _ in range(_SECTIONS):
            # a line that cannot end before another does is left as it is
            rows = rows[low[rows] * gone[rows] < np.min(high * gone)]
            if not len(rows):
                break
            between = low[rows, None] + (high - low)[rows, None] * _PARTS
            tried = self._on(settings[rows, None], between[:, :, None]).reshape(-1, settings.shape[1])
            close = np.column_stack([self.reached(tried).reshape(between.shape), np.ones(len(rows), dtype=bool)])
            ends = np.column_stack([low[rows], between, high[rows]])
            first = np.argmax(close, axis=1)
            at = np.arange(len(rows))
            low[rows], high[rows] = ends[at, first], ends[at, first + 1]
        return self._on(settings, high[:, None])

    def _on(self, settings: Array, share: Array) -> Array:
        there: Array = self.rest + share * (settings - self.rest)
        return there


def _closer(patch: _Patch, close: Array) -> Array:
    """From the settings that are reached and have gone least, ever nearer to ride height."""
    starts = close[np.argsort(patch.gone(close), kind="stable")[:_LINES]]
    found = patch.along(starts)
    best: Array = found[int(np.argmin(patch.gone(found)))]
    aside = _ASIDE
    for _ in range(_ROUNDS):
        tried = np.concatenate([_to_either_side(patch, best, number, aside) for number in range(len(patch.ends))])
        tried = tried[patch.reached(tried)] if len(tried) else tried
        if len(tried):
            found = np.concatenate([best[None], patch.along(tried)])
            best = found[int(np.argmin(patch.gone(found)))]
        aside *= 0.5
    return best


def _to_either_side(patch: _Patch, setting: Array, number: int, aside: float) -> Array:
    """The settings (n, k), two at most, that lie by a share of one number's travel beside one, and are allowed."""
    tried = np.repeat(setting[None], 2, axis=0)
    tried[:, number] += np.array([-1.0, 1.0]) * aside * patch.ends[number]
    tried = np.clip(tried, *patch.nearest.path.box.T)
    allowed = np.ones(2, dtype=bool)
    for limit in patch.nearest.limits:
        allowed &= limit.allows(tried)
    found: Array = tried[allowed]
    return found
