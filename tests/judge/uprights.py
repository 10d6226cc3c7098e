"""Double wishbone, strut and multi-link: an upright on rods, a rack and a tie rod.

A setting is the height of the point that the spring holds (the lower ball joint; of a multi-link, the hub), nothing,
and the drive of the steering; without a tie rod, the degrees that the wheel points out.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from .assembly import Assembly, Rows
from .bonds import Arm, Link, Rod, all_of, height, points_out, rods, slide, steered_by
from .knuckles import out_deg, spin_axis, steered_end
from .moving import Array, Moving, numbers
from .placing import Placing
from .stances import AXLE, BODY, KNUCKLE, Stance, Travel, ordered, standing
from .tape import Table, angle_of, point, point_of

_HUB = np.zeros(3)


class Upright:
    """An upright, its links, and what moves them."""

    def __init__(self, table: Table, travel: Travel) -> None:
        toe = angle_of(table, "toe")
        self.toe_deg, self.spin = toe, spin_axis(angle_of(table, "camber"), toe)
        self.holds, self.links, bonds = _linkage(table)
        self.tied = "tie_inner" in table
        by_label = [*bonds, points_out(self.spin, toe, 1), height(self.holds, 0)]
        if self.tied:
            end, outer = steered_end(table, "tie_inner"), point_of(table, "tie_outer")
            self.links = {**self.links, "tie rod": Rod(end, outer)}
            by_label.insert(0, steered_by(end, outer, None))
            bonds = [*bonds, steered_by(end, outer, 1)]
        elif table["kind"] != "multi-link":
            bonds = [*bonds, points_out(self.spin, toe, 1)]
        self.frames = (BODY, AXLE, KNUCKLE, *self.links)
        self.worth_mm = (1.0, 1.0, 2.5 if self.tied else 6.0)
        # these are only walked in, which needs no box
        anywhere = np.zeros((2, 2))
        self._by_hub = Assembly(all_of(*bonds, height(_HUB, 0)), anywhere)
        self._by_label = Assembly(all_of(*by_label), anywhere, more=int(self.tied))
        self._held = Assembly(all_of(*bonds, height(self.holds, 0)), anywhere)
        heights = self.settings(np.array([[bump, 0.0, 0.0] for bump in travel.bump]))[:, 0]
        self.box = np.array([heights, [0.0, 0.0], self._steering(travel)])
        self._held = Assembly(self._held.rows, self.box[[0, 2]])

    def _steering(self, travel: Travel) -> Array:
        if travel.rack is not None:
            # which way the rack goes for the wheel to turn out
            way = np.sign(self.labels(np.array([[0.0, 0.0, 1.0]]))[0, 2])
            inward, outward = travel.rack
            return ordered(-way * inward, way * outward)
        if travel.locks is None:
            return np.zeros(2)
        inward, outward = travel.locks
        return ordered(*self.settings(np.array([[0.0, 0.0, -inward], [0.0, 0.0, outward]]))[:, 2])

    def stand(self, settings: Array, *, rates: bool = False) -> Stance:
        """The corner at settings (n, 3)."""
        knuckle = self._placed(settings, rates=rates)
        drive = numbers(settings, rates=3 * rates)[2]

        def ahead() -> Placing:
            return self._placed(settings * [1.0, 1.0, 0.0], rates=rates, steered=False)

        placers = {name: (lambda link=link: link.placed(knuckle, drive)) for name, link in self.links.items()}
        return standing(knuckle, self.spin, {AXLE: ahead, **placers})

    def _placed(self, settings: Array, *, rates: bool, steered: bool = True) -> Placing:
        asked = settings[:, [0, 2]]
        if not rates:
            return self._held.stand(asked)[0]
        body, _ = self._held.moving(asked)
        return Placing(*(_spread(part, 3, [0, 2] if steered else [0, None]) for part in (body.at, body.turn)))

    def labels(self, settings: Array) -> Array:
        """Bump is the hub's height straight ahead, steer the angle at ride height."""
        ahead = self._held.walk(settings[:, [0, 2]] * [1.0, 0.0])
        at_ride = self._held.walk(settings[:, [0, 2]] * [0.0, 1.0])
        spin = self._held.still(at_ride).carry_direction(self.spin).value
        return np.column_stack([ahead[:, 2], 0.0 * ahead[:, 2], out_deg(spin, self.toe_deg)])

    def settings(self, labels: Array) -> Array:
        """The height of what is held when the hub stands at its bump straight ahead, and the drive for the angle."""
        bump, _, out = labels.T
        ahead = self._by_hub.walk(np.column_stack([bump, 0.0 * bump]))
        held = self._by_hub.still(ahead).carry(self.holds[None]).value[:, 0, 2] - self.holds[2]
        drive = self._by_label.walk(np.column_stack([0.0 * out, out]))[:, 7] if self.tied and out.any() else out
        return np.column_stack([held, 0.0 * held, drive])


def _linkage(table: Table) -> tuple[Array, Mapping[str, Link], list[Rows]]:
    """The point that the spring holds, the links that parts can ride on, and the bonds of all but the tie rod."""
    if table["kind"] == "multi-link":
        rows = np.array(
            [point([v for end in row for v in end] if isinstance(row[0], list) else row) for row in table["links"]]
        )
        links = {f"link {i}": Rod(row[:3], row[3:]) for i, row in enumerate(rows, start=1)}
        return _HUB, links, [rods(rows[:, :3], rows[:, 3:])]
    lower, lower_bond = _wishbone(table, "lower")
    if table["kind"] == "double-wishbone":
        upper, upper_bond = _wishbone(table, "upper")
        return lower.joint, {"upper arm": upper, "lower arm": lower}, [upper_bond, lower_bond]
    top, bottom = point_of(table, "strut_top"), point_of(table, "strut_bottom")
    return lower.joint, {"lower arm": lower, "strut": Rod(top, bottom)}, [lower_bond, slide(top, bottom)]


def _wishbone(table: Table, which: str) -> tuple[Arm, Rows]:
    front, rear, ball = (point_of(table, f"{which}_{end}") for end in ("front", "rear", "ball"))
    return Arm(front, rear, ball), rods(np.array([front, rear]), np.array([ball, ball]))


def _spread(part: Moving, rates: int, columns: list[int | None]) -> Moving:
    """Rates with what is asked, put where a setting has those numbers."""
    rate = np.zeros((*part.rate.shape[:-1], rates))
    for asked, column in enumerate(columns):
        if column is not None:
            rate[..., column] = part.rate[..., asked]
    return Moving(part.value, rate)
