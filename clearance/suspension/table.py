"""A measured table: what a tape and an angle finder read at each height of the hub, springs out.

Rows are bump, across (hub face to a datum, positive outboard), along (positive ahead), camber and toe; the datum
cancels, because only the change from ride height counts. Readings scatter by a millimetre, so each column is fitted
by a low polynomial through the row of ride height (quadratic; cubic from seven rows) and not threaded through every
row: on a known linkage with 1 mm of reading noise the quadratic errs 1.2 mm where a spline errs 2.0. How far rows lie
from the fit is carried as `uncertainty_mm`. A table is never extrapolated.

Steer rows, where there are some: bump, steer, across, along and camber at left lock, straight and right lock, at three
heights. They are fitted by products of quadratics.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from clearance.errors import SuspensionError
from clearance.pose import Array, Pose, read_only, spin_axis, still
from clearance.suspension.carried import Carried, rows_of, set_up, unknown_frame
from clearance.suspension.position import AXLE, BODY, HUB, KNUCKLE, Cycle
from clearance.suspension.steering import Kingpin
from clearance.suspension.straight import turn_from

ANGLE_ARM_MM = 350.0
"""An angle's scatter is carried as the distance that it moves the tread of a tire of about this radius."""
LEAST_ROWS = 5
ROWS_FOR_CUBIC = 7
_REACH_MM = 1e-6
"""Rounding room when a position is held against the measured range."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Table(Carried):
    """Measured rows, and the fit through them."""

    cycle: Cycle
    rows: Array
    """(n, 5): bump, across, along (mm), camber, toe (deg)."""
    steer_rows: Array | None = None
    """(m, 5): bump (mm), steer (deg), across, along (mm), camber (deg)."""
    kingpin: Kingpin | None = None
    camber_deg: float = field(init=False)
    toe_deg: float = field(init=False)
    fit: Array = field(init=False, repr=False)
    """(degree, 4): coefficients of b, b^2, ... for each column's change from ride height."""
    steer_fit: Array | None = field(init=False, repr=False)
    """(2, 3, 3): coefficients of steer^i b^j for across, along and camber."""
    scatter_mm: float = field(init=False)

    def __post_init__(self) -> None:
        rows = _sorted_rows(self.rows)
        ride = rows[np.abs(rows[:, 0]) <= _REACH_MM][0]
        fit = _through_ride_height(rows, ride)
        put = object.__setattr__
        put(self, "rows", read_only(rows))
        put(self, "camber_deg", float(ride[3]))
        put(self, "toe_deg", float(ride[4]))
        put(self, "fit", read_only(fit))
        scatter = _scatter_mm(rows[:, 1:] - ride[1:] - _powers(rows[:, 0], len(fit)) @ fit)
        put(self, "steer_fit", None)
        if self.steer_rows is not None:
            steer_rows = _checked_steer_rows(self.steer_rows)
            measured = _steer_change(steer_rows)
            steer_fit = _steer_fit(steer_rows, measured)
            put(self, "steer_rows", read_only(steer_rows))
            put(self, "steer_fit", read_only(steer_fit))
            left_over = measured - np.einsum("nij,ijc->nc", _products(steer_rows[:, 0], steer_rows[:, 1]), steer_fit)
            scatter = max(scatter, _scatter_mm(left_over))
        put(self, "scatter_mm", scatter)
        self._refuse_beyond(np.array([[b, 0.0, s] for b in self.cycle.bump_mm for s in self.cycle.steer_deg]))
        if self.steer_fit is None:
            self.check_steering()

    @property
    def kind(self) -> str:
        """The corner file's word."""
        return "table"

    @property
    def uncertainty_mm(self) -> float:
        """How far the measured rows lie from the fit, at most, at the tread."""
        return self.scatter_mm

    def axle(self, positions: Array) -> Pose:
        """The fit through the straight-ahead rows."""
        self._refuse_beyond(positions)
        return self._placed(positions[:, 0], self._straight_ahead(positions[:, 0]), steer_deg=np.zeros(len(positions)))

    def pose(self, positions: npt.ArrayLike, frame: str = HUB) -> Pose:
        """Where `frame` has gone; with steer rows, the knuckle follows them."""
        if self.steer_fit is None:
            return Carried.pose(self, positions, frame)
        rows = rows_of(positions)
        if frame == BODY:
            return still(len(rows))
        if frame not in (AXLE, KNUCKLE, HUB):
            raise unknown_frame(frame, self.frames)
        if frame == AXLE:
            return self.axle(rows)
        self._refuse_beyond(rows)
        change = self._straight_ahead(rows[:, 0])
        change[:, :3] += np.einsum("nij,ijc->nc", _products(rows[:, 0], rows[:, 2]), self.steer_fit)
        knuckle = self._placed(rows[:, 0], change, steer_deg=rows[:, 2])
        return knuckle if frame == KNUCKLE else set_up(knuckle, self.camber_deg, self.toe_deg)

    def _straight_ahead(self, bump_mm: Array) -> Array:
        """(n, 4): change of across, along, camber, toe from ride height."""
        change: Array = _powers(bump_mm, len(self.fit)) @ self.fit
        return change

    def _placed(self, bump_mm: Array, change: Array, steer_deg: Array) -> Pose:
        axis = spin_axis(self.camber_deg + change[:, 2], self.toe_deg + change[:, 3] - steer_deg)
        origin = np.stack([change[:, 1], change[:, 0], bump_mm], axis=-1)
        return Pose(origin_mm=origin, turn=turn_from(spin_axis(self.camber_deg, self.toe_deg), axis))

    def _refuse_beyond(self, positions: Array) -> None:
        _refuse_outside(positions[:, 0], self.rows[:, 0], "bump", "mm", "measure another row")
        if self.steer_rows is not None and self.steer_fit is not None:
            _refuse_outside(positions[:, 2], self.steer_rows[:, 1], "steer", "deg", "measure steer rows at the locks")
            steering = positions[np.abs(positions[:, 2]) > 0.0]
            if len(steering):
                heights = self.steer_rows[:, 0]
                _refuse_outside(steering[:, 0], heights, "bump while steering", "mm", "measure steer rows there")


def _sorted_rows(rows: npt.ArrayLike) -> Array:
    """Rows by bump; refused where a fit could not stand on them."""
    table = np.array(rows, dtype=float)
    if table.ndim != 2 or table.shape[1] != 5 or not np.isfinite(table).all():
        raise SuspensionError("each row of a measured table holds five numbers: bump, across, along, camber, toe.")
    table = table[np.argsort(table[:, 0], kind="stable")]
    bumps = table[:, 0]
    twice = bumps[1:][np.diff(bumps) <= _REACH_MM]
    if len(twice):
        raise SuspensionError(
            f"two rows of the measured table are at bump {twice[0]:g} mm. Keep one of them, or their mean."
        )
    if len(table) < LEAST_ROWS:
        raise SuspensionError(
            f"the measured table has {len(table)} rows; a fit needs at least {LEAST_ROWS}. Measure every 25 mm"
            " from droop to"
            f" bump, ride height among them."
        )
    if not (np.abs(bumps) <= _REACH_MM).any():
        raise SuspensionError(
            f"no row of the measured table is at ride height; its bumps are {_list(bumps)} mm. Measure one row"
            " at bump 0 mm."
        )
    return table


def _checked_steer_rows(rows: npt.ArrayLike) -> Array:
    table = np.array(rows, dtype=float)
    if table.ndim != 2 or table.shape[1] != 5 or not np.isfinite(table).all():
        raise SuspensionError("each steer row holds five numbers: bump, steer, across, along, camber.")
    heights = len(np.unique(table[:, 0]))
    left, right = len(np.unique(table[table[:, 1] > 0, 0])), len(np.unique(table[table[:, 1] < 0, 0]))
    if heights < 3 or left < 3 or right < 3:
        raise SuspensionError(
            "steer rows need left lock, straight and right lock at three heights, nine rows; these have"
            f" {heights} heights,"
            f" steer to the left at {left} of them and to the right at {right}."
        )
    straight = table[np.abs(table[:, 1]) <= _REACH_MM]
    missing = set(table[:, 0]) - set(straight[:, 0])
    if missing:
        raise SuspensionError(
            f"steer rows at bump {min(missing):g} mm have none straight ahead. Measure one at steer 0 deg."
        )
    return table


def _through_ride_height(rows: Array, ride: Array) -> Array:
    degree = 3 if len(rows) >= ROWS_FOR_CUBIC else 2
    others = rows[np.abs(rows[:, 0]) > _REACH_MM]
    scale = float(np.abs(others[:, 0]).max())
    coefficients = np.linalg.lstsq(_powers(others[:, 0] / scale, degree), others[:, 1:] - ride[1:], rcond=None)[0]
    fit: Array = coefficients / scale ** np.arange(1, degree + 1)[:, None]
    return fit


def _powers(bump_mm: Array, degree: int) -> Array:
    return np.stack([bump_mm**power for power in range(1, degree + 1)], axis=-1)


def _products(bump_mm: Array, steer_deg: Array) -> Array:
    """(n, 2, 3): steer^i b^j for i = 1, 2 and j = 0, 1, 2."""
    return (
        np.stack([steer_deg, steer_deg**2], axis=-1)[:, :, None]
        * np.stack([np.ones_like(bump_mm), bump_mm, bump_mm**2], axis=-1)[:, None, :]
    )


def _steer_change(rows: Array) -> Array:
    """(m, 3): what steering alone changed, height by height, in across, along and camber."""
    change = np.empty((len(rows), 3))
    for height in np.unique(rows[:, 0]):
        here = rows[:, 0] == height
        straight = rows[here & (np.abs(rows[:, 1]) <= _REACH_MM)].mean(axis=0)
        change[here] = rows[here, 2:] - straight[2:]
    return change


def _steer_fit(rows: Array, change: Array) -> Array:
    terms = _products(rows[:, 0], rows[:, 1]).reshape(len(rows), 6)
    scale = np.abs(terms).max(axis=0)
    coefficients = np.linalg.lstsq(terms / scale, change, rcond=None)[0] / scale[:, None]
    fit: Array = coefficients.reshape(2, 3, 3)
    return fit


def _scatter_mm(left_over: Array) -> float:
    """The largest distance of a row from its fit: across and along, and the angles at the tread."""
    angle_rad = np.radians(np.linalg.norm(left_over[:, 2:], axis=1))
    scatter = np.linalg.norm(left_over[:, :2], axis=1) + ANGLE_ARM_MM * angle_rad
    return float(scatter.max())


def _refuse_outside(values: Array, measured: Array, what: str, unit: str, remedy: str) -> None:
    least, greatest = float(measured.min()), float(measured.max())
    beyond = (values < least - _REACH_MM) | (values > greatest + _REACH_MM)
    if beyond.any():
        found = float(values[beyond][0])
        raise SuspensionError(
            f"{what} {found:g} {unit} is outside the measured table, which runs from {least:g} {unit} to"
            f" {greatest:g} {unit};"
            f" a table is never extrapolated. Reduce the travel, or {remedy}."
        )


def _list(values: Array) -> str:
    return ", ".join(f"{value:g}" for value in values)
