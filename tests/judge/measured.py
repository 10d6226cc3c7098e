"""Corners by tape and angle finder: straight up and down, or a table of readings.

A setting is the bump, nothing, and what steers: the degrees that the knuckle has turned about the axis that is given;
or, where steer rows were read, the degrees that the wheel points out.

Camber and toe say where the axle points, not how the knuckle got there. It is taken to turn the least way from where
the axle points at ride height to straight across, and from there the least way to where it points now.
"""

from __future__ import annotations

import numpy as np

from .knuckles import kingpin_by_angles, out_deg, spin_axis
from .moving import Array, Moving, fixed, numbers, sine_cosine
from .placing import Placing, about, least_turn
from .stances import AXLE, BODY, KNUCKLE, Stance, Travel, ordered, standing
from .tape import Table, angle_deg, angle_of, length_mm, length_of

_OUTBOARD = np.array([0.0, 1.0, 0.0])
_READ = ("across", "along", "camber", "toe")


class Measured:
    """A corner whose hub goes where it was measured to go."""

    def __init__(self, table: Table, steering: Table, travel: Travel, *, hand: float) -> None:
        self._curves = _per_100mm(table) if table["kind"] == "straight" else _fitted(table["rows"])
        self._by_steer = _fitted_steer(table["steer_rows"], hand) if "steer_rows" in table else None
        self.camber_deg, self.toe_deg = self._curves["camber"][0], self._curves["toe"][0]
        self.spin = spin_axis(self.camber_deg, self.toe_deg)
        self.kingpin = kingpin_by_angles(steering["axis"]) if "axis" in steering else None
        self.frames = (BODY, AXLE, KNUCKLE)
        self.worth_mm = (1.0, 1.0, 6.0)
        inward, outward = travel.locks or (0.0, 0.0)
        self.box = np.array([travel.bump, travel.other, ordered(self._steer(-inward), self._steer(outward))])

    def _steer(self, out: float) -> float:
        if self.kingpin is None or not out:
            return out
        turn = self.kingpin.turn_rad_for(out, camber_deg=self.camber_deg, toe_deg=self.toe_deg)
        return float(np.degrees(turn))

    def stand(self, settings: Array, *, rates: bool = False) -> Stance:
        """The corner at settings (n, 3)."""
        bump, _, steer = numbers(settings, rates=3 * rates)
        axle = self._placed(bump, None)
        if self._by_steer is not None:
            knuckle = self._placed(bump, steer)
        elif self.kingpin is not None:
            turn = steer.times(np.pi / 180.0)
            knuckle = axle.after(about(self.kingpin.through, self.kingpin.axis, turn))
        else:
            knuckle = axle
        return standing(knuckle, self.spin, {AXLE: lambda: axle})

    def _placed(self, bump: Moving, steer: Moving | None) -> Placing:
        now = {name: _polynomial(self._curves[name], bump) for name in _READ}
        if steer is not None and self._by_steer is not None:
            for name, weights in self._by_steer.items():
                now[name] = now[name] + _product(weights, bump, steer)
            now["toe"] = now["toe"] - steer
        axle = _pointing(now["camber"], now["toe"])
        still = [number.value[0] for number in (_polynomial(self._curves[name], _ZERO) for name in ("across", "along"))]
        at = [now["along"] - fixed(still[1]), now["across"] - fixed(still[0]), bump]
        return Placing(_point(at), _turn_onto(self.spin, axle))

    def labels(self, settings: Array) -> Array:
        """Bump as it is, and the angle at ride height."""
        found = np.array(settings, dtype=float)
        found[:, 2] = out_deg(self.stand(settings * [0.0, 0.0, 1.0]).spin.value, self.toe_deg)
        return found

    def settings(self, labels: Array) -> Array:
        """The same bumps, and what steers the wheel to the angle."""
        return np.column_stack([labels[:, :2], [self._steer(float(out)) for out in labels[:, 2]]])


_ZERO = Moving(np.zeros(1), np.zeros((1, 0)))


def _per_100mm(table: Table) -> dict[str, Array]:
    """Of each reading, what it is at ride height and what a millimetre of bump adds."""
    return {
        "across": np.array([0.0, length_of(table, "across_per_100mm") / 100.0]),
        "along": np.array([0.0, length_of(table, "along_per_100mm") / 100.0]),
        "camber": np.array([angle_of(table, "camber"), angle_of(table, "camber_per_100mm") / 100.0]),
        "toe": np.array([angle_of(table, "toe"), angle_of(table, "toe_per_100mm") / 100.0]),
    }


def _numbers_of(row: list[str] | Table, columns: tuple[str, ...]) -> list[float]:
    values = [row[name] for name in columns] if isinstance(row, dict) else row
    angles = {"camber", "toe", "steer"}
    return [angle_deg(v) if name in angles else length_mm(v) for name, v in zip(columns, values, strict=True)]


def _fitted(rows: list) -> dict[str, Array]:
    """Least squares of every reading by a quadratic, from seven rows on a cubic, that goes through ride height."""
    table = np.array([_numbers_of(row, ("bump", *_READ)) for row in rows])
    ride = table[np.abs(table[:, 0]) < 1e-6][0]
    others = table[np.abs(table[:, 0]) >= 1e-6]
    degree = 3 if len(table) >= 7 else 2
    powers = (others[:, :1] / 100.0) ** np.arange(1, degree + 1)
    # by the normal equations: in units of 100 mm they are well enough conditioned
    weights = np.linalg.solve(powers.T @ powers, powers.T @ (others[:, 1:] - ride[1:]))
    weights = weights / 100.0 ** np.arange(1, degree + 1)[:, None]
    return {name: np.concatenate([ride[1 + i : 2 + i], weights[:, i]]) for i, name in enumerate(_READ)}


def _fitted_steer(rows: list, hand: float) -> dict[str, Array]:
    """(2, 3) for across, along and camber: least squares of what steering alone changed at each height, by
    out^i bump^j with i = 1, 2 and j = 0, 1, 2."""
    columns = ("bump", "steer", "across", "along", "camber")
    table = np.array([_numbers_of(row, columns) for row in rows])
    table[:, 1] *= hand
    change = np.empty((len(table), 3))
    for bump in np.unique(table[:, 0]):
        here = table[:, 0] == bump
        straight = table[here & (np.abs(table[:, 1]) < 1e-6)].mean(axis=0)
        change[here] = table[here, 2:] - straight[2:]
    out, up = table[:, 1] / 10.0, table[:, 0] / 100.0
    terms = np.stack([out**i * up**j for i in (1, 2) for j in (0, 1, 2)], axis=1)
    weights = np.linalg.solve(terms.T @ terms, terms.T @ change)
    units = np.array([[10.0**i * 100.0**j for j in (0, 1, 2)] for i in (1, 2)])
    return {name: weights[:, i].reshape(2, 3) / units for i, name in enumerate(("across", "along", "camber"))}


def _polynomial(weights: Array, bump: Moving) -> Moving:
    found = fixed(weights[-1])
    for weight in weights[-2::-1]:
        found = found * bump + fixed(weight)
    return found


def _product(weights: Array, bump: Moving, steer: Moving) -> Moving:
    return (_polynomial(weights[0], bump) + _polynomial(weights[1], bump) * steer) * steer


def _pointing(camber_deg: Moving, toe_deg: Moving) -> Moving:
    """(n, 3): the axle's direction."""
    dip, level = sine_cosine(camber_deg.times(np.pi / 180.0))
    ahead, across = sine_cosine(toe_deg.times(np.pi / 180.0))
    return _point([level * ahead, level * across, dip.times(-1.0)])


def _point(parts: list[Moving]) -> Moving:
    values = np.broadcast_arrays(*(part.value for part in parts))
    rates = np.broadcast_arrays(*(part.rate for part in parts))
    return Moving(np.stack(values, axis=1), np.stack(rates, axis=1))


def _turn_onto(start: Array, end: Moving) -> Moving:
    across = least_turn(fixed(start), fixed(_OUTBOARD))
    onward = least_turn(fixed(_OUTBOARD), end)
    return Placing(fixed(np.zeros(3)), onward).after(Placing(fixed(np.zeros(3)), across)).turn
