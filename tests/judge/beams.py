"""Bodies that carry a knuckle on a kingpin: arms about a line, and axles with a hub at each end.

A setting is the hub's bump, the other hub's bump, and what steers: the drive of a drag link or tie rod where there is
one, else the degrees that the knuckle has turned about its kingpin.

The other side's links of an axle are the mirror image of this side's about the middle of the car.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from .assembly import Assembly, Reach, Rows
from .bonds import Link, Rod, all_of, height, hinge, in_plane, pinned, rods, too_long
from .knuckles import (
    Kingpin,
    Steered,
    kingpin_by_angles,
    kingpin_through,
    out_deg,
    root_from_zero,
    spin_axis,
    steered_end,
)
from .leaves import spring_bonds
from .moving import Array, Moving, fixed, numbers, side_by_side, swung
from .placing import Placing, about
from .stances import AXLE, BODY, KNUCKLE, Stance, Travel, ordered, standing
from .tape import Table, angle_of, length_of, point_of

AHEAD, OUTBOARD, UP = np.eye(3)
_HUB = np.zeros(3)


@dataclass(slots=True)
class Held:
    """What holds a beam."""

    exact: list[Rows] = field(default_factory=list)
    links: list[Rows] = field(default_factory=list)
    """What has bushings, and gives where there is more of it than can be kept."""
    count: int = 0
    """How many numbers these are, an unknown of their own taken off."""
    ride: dict[str, Link] = field(default_factory=dict)
    more: int = 0
    """Unknowns of their own: a lever's angle."""


class Beam:
    """A carried knuckle, and what moves it."""

    def __init__(self, table: Table, steering: Table, travel: Travel) -> None:
        toe = angle_of(table, "toe")
        self.camber_deg, self.toe_deg = angle_of(table, "camber"), toe
        self.spin = spin_axis(self.camber_deg, toe)
        arm = table["kind"] in ARMS
        held = _arm(table) if arm else _axle(table, travel)
        self.links = held.ride
        self.columns = [0] if arm else [0, 1]
        heights = [height(_HUB, 0)]
        if not arm:
            heights.append(height(np.array([0.0, -length_of(table, "track"), 0.0]), 1))
        self.kingpin = _kingpin(table, steering)
        self.tie = _tie(table, self.kingpin)
        box = np.array([travel.bump, travel.other, self._steering(travel)])
        exact = [*held.exact, *held.links, *heights]
        bushings = None
        if held.count > (5 if arm else 4):
            exact, bushings = [*held.exact, *heights], all_of(*held.links)
        if self.tie:
            self.columns.append(2)
            exact.append(self.tie.rows(drive=len(self.columns) - 1, turn=held.more))
        more = held.more + (self.tie.unknowns if self.tie else 0)
        self.box = box
        self._assembly = Assembly(all_of(*exact), box[self.columns], more=more, bushings=bushings)
        self.frames = (BODY, AXLE, KNUCKLE, *self.links)
        self.worth_mm = (1.0, 1.0, 2.5 if self.tie else 6.0)

    def _steering(self, travel: Travel) -> Array:
        inward, outward = travel.locks or (0.0, 0.0)
        return ordered(*(self._steer(out) for out in (-inward, outward)))

    def _steer(self, out: float) -> float:
        """The drive, or the degrees of turn, at which the wheel points so far out at ride height."""
        if not out or self.kingpin is None:
            return 0.0
        turn = self.kingpin.turn_rad_for(out, camber_deg=self.camber_deg, toe_deg=self.toe_deg)
        return self.tie.drive_for(turn) if self.tie else float(np.degrees(turn))

    def stand(self, settings: Array, *, rates: bool = False) -> Stance:
        """The corner at settings (n, 3)."""
        asked = settings[:, self.columns]
        if rates:
            body, more = self._assembly.moving(asked)
            body = Placing(self._spread(body.at), self._spread(body.turn))
            more = [self._spread(number) for number in more]
        else:
            body, more = self._assembly.stand(asked)
        placers = {name: (lambda link=link: link.placed(body, None)) for name, link in self.links.items()}
        placers[AXLE] = lambda: body
        knuckle = body
        if self.kingpin is not None:
            turn = more[-1] if self.tie else numbers(settings, rates=3 * rates)[2].times(np.pi / 180.0)
            knuckle = body.after(about(self.kingpin.through, self.kingpin.axis, turn))
        return standing(knuckle, self.spin, placers)

    def _spread(self, part: Moving) -> Moving:
        rate = np.zeros((*part.rate.shape[:-1], 3))
        rate[..., self.columns] = part.rate
        return Moving(part.value, rate)

    def labels(self, settings: Array) -> Array:
        """Bumps as they are, and the angle at ride height."""
        found = np.array(settings, dtype=float)
        if self.kingpin is not None:
            stance = self.stand(settings * [0.0, 0.0, 1.0])
            found[:, 2] = out_deg(stance.spin.value, self.toe_deg)
        return found

    def settings(self, labels: Array) -> Array:
        """The same bumps, and what steers the wheel to the angle."""
        return np.column_stack([labels[:, :2], [self._steer(float(out)) for out in labels[:, 2]]])


# ---- what turns the knuckle


def _kingpin(table: Table, steering: Table) -> Kingpin | None:
    if "kingpin_lower" in table:
        return kingpin_through(point_of(table, "kingpin_lower"), point_of(table, "kingpin_upper"))
    return kingpin_by_angles(steering["axis"]) if "axis" in steering else None


@dataclass(frozen=True, slots=True, eq=False)
class Tie:
    """A rod from the steering to this knuckle."""

    kingpin: Kingpin
    end: Steered
    outer: Array
    unknowns: int = 1

    def rows(self, *, drive: int, turn: int) -> Rows:
        """It keeps its length; this knuckle's turn is the last unknown."""
        size = float(np.linalg.norm(self.end.end - self.outer))

        def kept(reach: Reach) -> Moving:
            outer = reach.body.carry(self.kingpin.turned(self.outer[None], reach.more[turn]))
            return too_long(self.end.driven(reach.asked[drive]), outer, size)

        return kept

    def drive_for(self, turn_rad: float) -> float:
        """The drive that turns the knuckle so far, at ride height."""
        outer = self.kingpin.turned(self.outer[None], _number(turn_rad))
        size = float(np.linalg.norm(self.end.end - self.outer))
        return root_from_zero(lambda d: _one(too_long(self.end.driven(_number(d)), outer, size)), step=4.0)


@dataclass(frozen=True, slots=True, eq=False)
class Cross:
    """A drag link to the other wheel's knuckle, and a track rod from there to this one."""

    drag: Tie
    """To the other knuckle, about that one's kingpin."""
    kingpin: Kingpin
    here: Array
    there: Array
    unknowns: int = 2

    def rows(self, *, drive: int, turn: int) -> Rows:
        """Both rods keep their length; the other knuckle's turn comes first, this one's last."""
        drag = self.drag.rows(drive=drive, turn=turn)

        def kept(reach: Reach) -> Moving:
            return side_by_side([drag(reach), self._track_rod(reach.more[turn], reach.more[turn + 1])])

        return kept

    def _track_rod(self, other: Moving, own: Moving) -> Moving:
        there = self.drag.kingpin.turned(self.there[None], other)
        here = self.kingpin.turned(self.here[None], own)
        return too_long(there, here, float(np.linalg.norm(self.there - self.here)))

    def drive_for(self, turn_rad: float) -> float:
        """The drive that turns this knuckle so far, at ride height."""
        own = _number(turn_rad)
        return self.drag.drive_for(root_from_zero(lambda t: _one(self._track_rod(_number(t), own)), step=0.02))


def _tie(table: Table, kingpin: Kingpin | None) -> Tie | Cross | None:
    if kingpin is None:
        return None
    if "tie_inner" in table:
        return Tie(kingpin, steered_end(table, "tie_inner"), point_of(table, "tie_outer"))
    if "drag_inner" not in table:
        return None
    end, outer = steered_end(table, "drag_inner"), point_of(table, "drag_outer")
    track = length_of(table, "track")
    if outer[1] > -0.5 * track:
        return Tie(kingpin, end, outer)
    other = kingpin_through(*(_mirrored(point_of(table, f"kingpin_{end}"), track) for end in ("lower", "upper")))
    return Cross(Tie(other, end, outer), kingpin, point_of(table, "track_rod_here"), point_of(table, "track_rod_there"))


def _number(value: float) -> Moving:
    return Moving(np.array([value]), np.zeros((1, 0)))


def _one(number: Moving) -> float:
    return float(number.value[0, 0])


# ---- arms about a line

ARMS = {
    "trailing-arm": ("pivot", "pivot_2", OUTBOARD),
    "semi-trailing-arm": ("outer_pivot", "inner_pivot", OUTBOARD),
    "swing-axle": ("inner_joint", "arm_front", AHEAD),
    "twin-beam": ("beam_pivot", "arm_pivot_on_car", AHEAD),
    "swing-arm": ("", "", AHEAD),
}
"""The two points of the line; where the second is not given, the line's direction."""


def _arm(table: Table) -> Held:
    one, other, along = ARMS[table["kind"]]
    if table["kind"] == "swing-arm":
        first = np.array([0.0, -length_of(table, "swing_arm"), length_of(table, "centre_above")])
    else:
        first = point_of(table, one)
    second = point_of(table, other) if other in table else first + 200.0 * along
    return Held(exact=[hinge(first, second)], count=5)


# ---- axles


def _axle(table: Table, travel: Travel) -> Held:
    if "front_eye" in table or table["kind"] == "leaf-arc":
        bonds, leaf = spring_bonds(table, travel)
        return Held(exact=bonds, count=4, ride={"leaf": leaf})
    if table["kind"] == "track-bar":
        return _bar_by_tape(table)
    held = Held()
    for which in ("upper", "lower"):
        if f"{which}_axle" in table:
            _add_links(held, table, which)
    if "arm_body" in table:
        _add_ball(held, table)
    if "arm_front" in table:
        # a bush that slides fore and aft, and sideways, and keeps its height
        held.links.append(in_plane(point_of(table, "arm_front"), UP[None]))
        held.count += 1
    if "bar_axle" in table:
        on_axle, on_car = point_of(table, "bar_axle"), point_of(table, "bar_body")
        held.exact.append(rods(on_car[None], on_axle[None]))
        held.ride["track bar"] = Rod(on_car, on_axle)
        held.count += 1
    if "lever_pivot" in table:
        held.exact.append(_watts(table))
        held.count += 1
        held.more = 1
    return held


def _add_links(held: Held, table: Table, which: str) -> None:
    on_axle, on_car = point_of(table, f"{which}_axle"), point_of(table, f"{which}_body")
    held.ride[f"{which} link"] = Rod(on_car, on_axle)
    ends = [(on_car, on_axle)]
    if which == "upper" and "upper_body_2" in table:
        ends.append((point_of(table, "upper_body_2"), on_axle))
    elif which == "lower" or table["kind"] == "four-link" or table.get("upper_links") == "two":
        track = length_of(table, "track")
        ends.append((_mirrored(on_car, track), _mirrored(on_axle, track)))
    held.links.append(rods(np.array([car for car, _ in ends]), np.array([axle for _, axle in ends])))
    held.count += len(ends)


def _add_ball(held: Held, table: Table) -> None:
    pivot = point_of(table, "arm_body")
    balls = [pivot, _mirrored(pivot, length_of(table, "track"))] if table["kind"] == "truck-arm" else [pivot]
    held.links.append(pinned(np.array(balls)))
    held.count += 3 * len(balls)


def _watts(table: Table) -> Rows:
    """A lever that turns on its pivot by an unknown angle, and a rod from each of its ends."""
    pivot, one, two, far_one, far_two = (
        point_of(table, key) for key in ("lever_pivot", "lever_end_1", "lever_end_2", "watts_end_1", "watts_end_2")
    )
    axis = np.cross(two - one, far_one - one)
    axis = axis / np.linalg.norm(axis)
    ends, far = np.array([one, two]), np.array([far_one, far_two])
    lengths = np.linalg.norm(ends - far, axis=1)
    on_axle = table.get("lever_on", "axle") == "axle"

    def rows(reach: Reach) -> Moving:
        lever = swung(ends, pivot, axis, reach.more[0])
        if on_axle:
            return too_long(fixed(far), reach.body.carry(lever), lengths)
        return too_long(lever, reach.body.carry(far), lengths)

    return rows


def _bar_by_tape(table: Table) -> Held:
    """The bar's middle lies in the middle of the car; fore and aft and in wind-up the axle stays."""
    track, drop = length_of(table, "track"), length_of(table, "axle_end_below")
    level = float(np.sqrt(length_of(table, "bar_length") ** 2 - drop**2))
    to_car = level if table.get("car_end", "far") == "near" else -level
    on_axle = np.array([0.0, -0.5 * track - 0.5 * to_car, length_of(table, "axle_end_above_hub")])
    on_car = on_axle + np.array([0.0, to_car, drop])

    def no_wind_up(reach: Reach) -> Moving:
        return reach.body.carry_direction(AHEAD).along(UP).times(300.0)

    fore_and_aft = [in_plane(at, AHEAD[None]) for at in (_HUB, np.array([0.0, -track, 0.0]))]
    return Held(
        exact=[rods(on_car[None], on_axle[None]), *fore_and_aft, no_wind_up],
        count=4,
        ride={"track bar": Rod(on_car, on_axle)},
    )


def _mirrored(point: Array, track: float) -> Array:
    return np.array([point[0], -track - point[1], point[2]])
