"""The tire and wheel on its way through the cycle: at which setting does it come nearest to a point?

* setting  - a row of numbers that a path takes (see `geom.path`): what travels and steers, then play
* field    - at a point x, the least signed distance to the solid over all settings: negative inside the swept solid,
             and outside it the exact distance to it
* station  - one of the settings at which the solid is looked at first

The field found here is always the distance at a real setting, so never less than the truth. That it is not more either
is for `build` to show. Lengths are millimetres.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from clearance.geom.path import Path
from clearance.geom.revolve import Solid
from clearance.mockup.paths import hub_path
from clearance.pose import Array
from clearance.suspension.position import Suspension

STATION_MM = 20.0
"""How far the solid moves from one station to the next."""
MOST_STATIONS = 800


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Sweep:
    """A solid and the path of its hub."""

    solid: Solid
    path: Path
    across: tuple[int, int] | None = None
    """Which two numbers of a setting are bump and the other side's bump, where articulation ties them together."""
    articulation_mm: float | None = None
    """The most that those two can differ."""
    uncertainty_mm: float = 0.0
    """How far the hub may really be from the path, beyond `path.error_mm`."""

    def allowed(self, settings: Array, within: Array | float = 0.0) -> np.ndarray:
        """Which settings (n, k) the linkage can take; `within` widens the limit."""
        if self.across is None or self.articulation_mm is None:
            return np.ones(len(settings), dtype=bool)
        one, other = self.across
        apart = np.abs(settings[:, one] - settings[:, other])
        allowed: np.ndarray = apart <= self.articulation_mm + within + 1e-9
        return allowed

    def distance(self, points_mm: Array, settings: Array) -> Array:
        """Signed distance (n,) from points (n, 3) to the solid at settings (n, k), row by row; exact."""
        centre, axis = self.path.at(settings)
        y, r, _ = seen_from_hub(points_mm, centre, axis)
        return self.solid.chain.near(y, r).distance

    def distance_and_normal(self, points_mm: Array, settings: Array) -> tuple[Array, Array]:
        """The same with the direction (n, 3) in which the distance grows."""
        centre, axis = self.path.at(settings)
        y, r, out = seen_from_hub(points_mm, centre, axis)
        near = self.solid.chain.near(y, r)
        return near.distance, near.across[:, None] * axis + near.away[:, None] * out


def seen_from_hub(points_mm: Array, centre: Array, axis: Array) -> tuple[Array, Array, Array]:
    """Along the axis (n,), away from it (n,), and the unit direction away from it (n, 3), for points and hubs (n,
    3).
    """
    from_centre = points_mm - centre
    along = np.einsum("ij,ij->i", from_centre, axis)
    off = from_centre - along[:, None] * axis
    away = np.sqrt(np.einsum("ij,ij->i", off, off))
    return along, away, off / np.maximum(away, 1e-12)[:, None]


def sweep_of(solid: Solid, suspension: Suspension) -> Sweep:
    """The sweep of a solid carried by the hub of a suspension, through its whole cycle with its play."""
    seen = hub_path(suspension, solid.reach_mm)
    limit = next(iter(seen.limits), None)
    return Sweep(
        solid=solid,
        path=seen.path,
        across=None if limit is None else (limit.one, limit.other),
        articulation_mm=None if limit is None else limit.most,
        uncertainty_mm=suspension.uncertainty_mm,
    )


def stations(sweep: Sweep, *, apart_mm: float = STATION_MM, most: int = MOST_STATIONS) -> Array:
    """Settings (n, k) spread over the cycle, its corners included, as far apart as the solid moves `apart_mm`."""
    path = sweep.path
    if not path.moves:
        return np.zeros((1, 0))
    travel = _travel_mm(sweep)
    while True:
        counts = [1 if low == high else 2 + int(t / apart_mm) for (low, high), t in zip(path.box, travel, strict=True)]
        if np.prod(counts) <= most or apart_mm > 1e6:
            break
        apart_mm *= 1.15
    lines = [np.linspace(low, high, count) for (low, high), count in zip(path.box, counts, strict=True)]
    grid = np.array(np.meshgrid(*lines, indexing="ij")).reshape(len(lines), -1).T
    return np.ascontiguousarray(grid[sweep.allowed(grid)])


def spacing(sweep: Sweep, apart_mm: float = STATION_MM) -> Array:
    """(k,): how far apart stations are in each number."""
    width = sweep.path.box[:, 1] - sweep.path.box[:, 0]
    apart: Array = width / (1 + np.floor(_travel_mm(sweep) / apart_mm))
    return apart


def _travel_mm(sweep: Sweep) -> Array:
    """(k,): about how far the furthest point of the solid moves over the range of each number."""
    path, reach = sweep.path, sweep.solid.reach_mm
    middle = path.rates(path.box.mean(axis=1)[None])
    width = path.box[:, 1] - path.box[:, 0]
    speed = np.linalg.norm(middle.centre_by[0], axis=1) + reach * np.linalg.norm(middle.axis_by[0], axis=1)
    travel: Array = speed * width
    return travel


class Chart:
    """Signed distance in the half plane on a square lattice: quick, and near enough to choose by, never to prove by."""

    def __init__(self, solid: Solid, *, beyond_mm: float, pitch_mm: float = 2.0) -> None:
        low, high, _, top = solid.profile.bounds
        self._pitch = pitch_mm
        self._low = low - beyond_mm
        self._rows = int(np.ceil((high - low + 2 * beyond_mm) / pitch_mm)) + 2
        self._columns = int(np.ceil((top + beyond_mm) / pitch_mm)) + 2
        y = self._low + pitch_mm * np.arange(self._rows)
        r = pitch_mm * np.arange(self._columns)
        at_y, at_r = (a.ravel() for a in np.meshgrid(y, r, indexing="ij"))
        near = solid.chain.near(at_y, at_r)
        self._value = near.distance.astype(np.float32)
        self._across = near.across.astype(np.float32)
        self._away = near.away.astype(np.float32)

    def distance(self, y: Array, r: Array) -> Array:
        """Bilinear between the lattice points; off the lattice, that of its nearest edge plus how far off."""
        v = np.minimum(np.maximum((y - self._low) / self._pitch, 0.0), self._rows - 1.001)
        w = np.minimum(r / self._pitch, self._columns - 1.001)
        i, j = v.astype(np.int32), w.astype(np.int32)
        v -= i
        w -= j
        at = i * self._columns + j
        value = self._value
        near = value[at] + w * (value[at + 1] - value[at])
        far = value[at + self._columns] + w * (value[at + self._columns + 1] - value[at + self._columns])
        return np.asarray(near + v * (far - near), dtype=float)

    def gradient(self, y: Array, r: Array) -> tuple[Array, Array]:
        """Its direction, at the nearest lattice point: (across, away)."""
        i = np.clip(np.rint((y - self._low) / self._pitch), 0, self._rows - 1).astype(np.int32)
        j = np.minimum(np.rint(r / self._pitch), self._columns - 1).astype(np.int32)
        at = i * self._columns + j
        return self._across[at], self._away[at]


def settle(sweep: Sweep, chart: Chart, points_mm: Array, settings: Array, step: Array, *, rounds: int = 2) -> Array:
    """Better settings (n, k) for points (n, 3), starting from `settings`, searching within about `step` (k,) of them.

    Each round follows the path by its tangent, steps along one number at a time towards less distance on the chart with
    ever smaller steps, and comes back to the true path.
    """
    path = sweep.path
    settings = np.array(settings)
    if not path.moves:
        return settings
    low, high = path.box[:, 0], path.box[:, 1]
    size = step / 2.0
    for turn in range(rounds):
        rates = path.rates(settings)
        moved = np.zeros_like(settings)
        best = _on_tangent(chart, points_mm, rates.centre, rates.axis)
        centre, axis = rates.centre.copy(), rates.axis.copy()
        for halving in range(3 if turn == 0 else 4):
            for number in range(path.numbers):
                for sign in (1.0, -1.0):
                    reach = sign * size[number] / 2.0**halving
                    wanted = np.clip(settings[:, number] + moved[:, number] + reach, low[number], high[number])
                    by = (wanted - settings[:, number] - moved[:, number])[:, None]
                    c = centre + by * rates.centre_by[:, number]
                    u = axis + by * rates.axis_by[:, number]
                    found = _on_tangent(chart, points_mm, c, u)
                    better = found < best - 1e-9
                    if sweep.across is not None:
                        tried = settings + moved
                        tried[:, number] += by[:, 0]
                        better &= sweep.allowed(tried)
                    best = np.where(better, found, best)
                    moved[better, number] += by[better, 0]
                    centre[better], axis[better] = c[better], u[better]
        settings = settings + moved
        size = size / 4.0
    return np.clip(settings, low, high)


def _on_tangent(chart: Chart, points_mm: Array, centre: Array, axis: Array) -> Array:
    """Distance by the chart with an axis that is only nearly unit."""
    dx, dy, dz = (points_mm[:, i] - centre[:, i] for i in range(3))
    ux, uy, uz = axis[:, 0], axis[:, 1], axis[:, 2]
    size = ux * ux + uy * uy + uz * uz
    along = (dx * ux + dy * uy + dz * uz) / np.sqrt(size)
    away = np.sqrt(np.maximum(dx * dx + dy * dy + dz * dz - along * along, 0.0))
    return chart.distance(along, away)
