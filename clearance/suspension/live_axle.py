"""Beam axles: both hubs on one rigid body, held by links, and asked for the heights of both.

Letters; all points [ahead, outboard, above] from the centre of this wheel's hub face. Links come in pairs: the other
side's is the mirror image about the middle of the car, which is half the track inboard.

* UA, UC - upper link: on the axle, on the car
* LA, LC - lower link: on the axle, on the car
* BA, BC - track bar: on the axle, on the car (one only)
* WP     - watts linkage: the lever's pivot; W1, W2 its two ends; V1, V2 the far ends of its two links
* AF     - torque arm's front bush, or a truck arm's front pivot, or the central ball of a de Dion tube

Four numbers locate an axle that may heave and roll. Four-bar axles with a bar as well, and truck arms, have more: their
bushings must give, the axle settles where they give least in all, and how far they give is reported. All bushings
count as equally stiff. Topology from the templates of Project Chrono (BSD-3) and Dixon (from memory).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
import numpy.typing as npt

from clearance.errors import SuspensionError
from clearance.pose import Array, Pose
from clearance.suspension.carried import rows_of
from clearance.suspension.hinged import CrossSteer, TiedKnuckle, TieRod
from clearance.suspension.independent import point, points_of, steered_end
from clearance.suspension.linkage import (
    Ball,
    Fixed,
    Height,
    Linkage,
    Plane,
    Point,
    Racked,
    Riding,
    Row,
    Square,
    Swung,
    rod,
    square_to,
    values_of,
)
from clearance.suspension.linked import link_pose
from clearance.suspension.links import Link, Strut
from clearance.suspension.position import AXLE, BODY, HUB, KNUCKLE, Cycle
from clearance.suspension.soundness import (
    largest_give,
    refuse_bad_rods,
    refuse_slips,
    refuse_tie_rod_through_axis,
    refuse_unlocated,
)
from clearance.suspension.steering import Kingpin, kingpin_through
from clearance.suspension.travel import Travel

BUSHING_LIMIT_MM = 10.0
"""The most that a bushing is believed to give, unless the corner file says otherwise."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LiveAxle(TiedKnuckle):
    """A rigid axle on links; its first body is the axle."""

    kind: str
    cycle: Cycle
    linkage: Linkage
    links: tuple[Link, ...] = ()
    camber_deg: float = 0.0
    toe_deg: float = 0.0
    kingpin: Kingpin | None = None
    tie_rod: TieRod | CrossSteer | None = None
    bushing_limit_mm: float = BUSHING_LIMIT_MM
    taken: tuple[str, ...] = ()
    """What was taken for granted, in words."""
    title: str = "this corner"
    travel: Travel = field(init=False, repr=False)

    def __post_init__(self) -> None:
        straight = replace(self.cycle, steer_deg=(0.0, 0.0))
        object.__setattr__(self, "travel", Travel(linkage=self.linkage, cycle=straight, title=self.title))
        box = np.array(np.meshgrid(*self.cycle.box, indexing="ij")).reshape(3, -1).T
        self._refuse_binding()
        self.steered(box)

    @property
    def frames(self) -> tuple[str, ...]:
        """What a part can ride on."""
        return (BODY, AXLE, KNUCKLE, *(link.name for link in self.links))

    @property
    def notes(self) -> tuple[str, ...]:
        """What was taken for granted, and how far bushings give."""
        most = self.most_give_mm()
        if not most:
            return self.taken
        name, give = max(most, key=lambda pair: pair[1])
        return (
            *self.taken,
            f"The axle has more links than it can keep: its bushings, taken as equally stiff, give up to {give:.1f} mm"
            f" ({name}).",
        )

    @property
    def uncertainty_mm(self) -> float:
        """The rods are exact; where bushings give, the axle is where they are taken to be equally stiff."""
        return 0.0

    def axle(self, positions: Array) -> Pose:
        """Where the axle has gone; steering does not move it."""
        return self.travel.body(positions * np.array([1.0, 1.0, 0.0]))

    def pose(self, positions: npt.ArrayLike, frame: str = HUB) -> Pose:
        """Where `frame` has gone at positions (n, 3); see `position.Suspension`."""
        if all(link.name != frame for link in self.links):
            return TiedKnuckle.pose(self, positions, frame)
        state = self.travel.states(rows_of(positions) * np.array([1.0, 1.0, 0.0]))
        return link_pose(self.links, self.frames, frame, self.linkage.ride_height(), state)

    def give_mm(self, positions: npt.ArrayLike) -> list[tuple[str, Array]]:
        """How far each bushing gives at positions (n, 3); nothing where the links need no give."""
        state = self.travel.states(rows_of(positions) * np.array([1.0, 1.0, 0.0]))
        return largest_give(self.linkage, values_of(self.linkage.soft, state))

    def most_give_mm(self) -> list[tuple[str, float]]:
        """The most that each bushing gives anywhere in the cycle; nothing where none needs to."""
        if not self.linkage.soft:
            return []
        return [(name, float(give.max())) for name, give in self.give_mm(spread(self.cycle))]

    def _refuse_binding(self) -> None:
        if not self.linkage.soft:
            return
        positions = spread(self.cycle)
        for name, give in self.give_mm(positions):
            worst = int(np.argmax(give))
            if give[worst] > self.bushing_limit_mm:
                raise SuspensionError(
                    f"{self.title} binds: with this wheel at {positions[worst, 0]:g} mm and the other at"
                    f" {positions[worst, 1]:g} mm the bushing of the {name} would have to give"
                    f" {give[worst]:.1f} mm, over"
                    f" the {self.bushing_limit_mm:g} mm allowed. Leave out the link that fights the others, set"
                    " articulation lower, or write the give that was measured as bushing_limit.",
                    key="bushing_limit" if self.bushing_limit_mm != BUSHING_LIMIT_MM else "articulation",
                )


def spread(cycle: Cycle, count: int = 9) -> Array:
    """Positions all over a cycle, straight ahead, its ends and the limit of its articulation among them (n, 3)."""
    here, there = (np.linspace(*ends, count) for ends in (cycle.bump_mm, cycle.other_bump_mm))
    rows = np.array(np.meshgrid(here, there, [0.0], indexing="ij")).reshape(3, -1).T
    limit = cycle.articulation_mm
    if limit is None:
        return rows
    far = [np.clip(here + side * limit, *cycle.other_bump_mm) for side in (-1.0, 1.0)]
    rows = np.concatenate([rows, *(np.stack([here, other, 0.0 * here], axis=1) for other in far)])
    out: Array = rows[np.abs(rows[:, 0] - rows[:, 1]) <= limit + 1e-9]
    return out


def other_side(point_mm: Array, track_mm: float) -> Array:
    """The mirror image of a point about the middle of the car."""
    return np.array([point_mm[0], -track_mm - point_mm[1], point_mm[2]])


def hub_heights(track_mm: float) -> tuple[Row, Row]:
    """Both hubs as high as asked."""
    return (
        Height(name="this hub's height", letters=(), point=Riding(np.zeros(3)), column=0),
        Height(name="the other hub's height", letters=(), point=Riding(np.array([0.0, -track_mm, 0.0])), column=1),
    )


def link_axle(
    kind: str, values: Mapping[str, Any], cycle: Cycle, title: str, kingpin: Kingpin | None = None
) -> LiveAxle:
    """The axle with whatever links its keys name. Raises SuspensionError for links that cannot be or do not hold it."""
    refuse_slips(points_of(values))
    track = float(values["track"])
    if track < 300.0:
        raise SuspensionError(f"a track of {track:g} mm is too narrow. Measure from hub face to hub face.")
    rows: list[Row] = []
    links: list[Link] = []
    bodies = 1
    for which, letter in (("upper", "U"), ("lower", "L")):
        if f"{which}_axle" in values:
            pair = which == "lower" or kind not in ONE_UPPER or values.get("upper_links") == "two"
            _add_links(values, which, letter, track, rows, links, pair=pair)
    if "arm_body" in values:
        _add_ball(kind, values, track, rows)
    if "arm_front" in values:
        rows.append(_slipping_bush(point(values, "arm_front")))
    if not values.keys().isdisjoint(("bar_axle", "bar_body")):
        rows.append(_bar(values, links))
    if "lever_pivot" in values:
        rows.extend(_watts(values))
        bodies = 2
    return axle_on(kind, values, cycle, title, rows, links, bodies=bodies, steering_axis=kingpin)


def axle_on(
    kind: str,
    values: Mapping[str, Any],
    cycle: Cycle,
    title: str,
    rows: list[Row],
    links: list[Link],
    *,
    bodies: int = 1,
    steering_axis: Kingpin | None = None,
) -> LiveAxle:
    """The axle on these rows; soft where there are more of them than an axle that moves can keep."""
    track = float(values["track"])
    numbers = sum(row.count for row in rows)
    spare = numbers + 2 - 6 * bodies
    if spare > 0:
        rows = [_softened(row) for row in rows]
    linkage = Linkage(bodies=bodies, rows=(*rows, *hub_heights(track)))
    refuse_bad_rods(linkage)
    refuse_unlocated(linkage, "axle")
    kingpin, tie = _knuckle(values, track)
    flex = float(values.get("sideways_flex", 0.0))
    if flex:
        shift = cycle.shift
        wider = replace(shift, inboard_mm=shift.inboard_mm + flex, outboard_mm=shift.outboard_mm + flex)
        cycle = replace(cycle, shift=wider)
    return LiveAxle(
        kind=kind,
        cycle=cycle,
        linkage=linkage,
        links=tuple(links),
        camber_deg=float(values.get("camber", 0.0)),
        toe_deg=float(values.get("toe", 0.0)),
        kingpin=kingpin or steering_axis,
        tie_rod=tie,
        bushing_limit_mm=float(values.get("bushing_limit", BUSHING_LIMIT_MM)),
        title=title,
    )


ONE_UPPER = ("three-link", "watts-link", "solid-steer-axle", "de-dion")
_EXACT = ("track bar", "watts linkage", "lever")


def _softened(row: Row) -> Row:
    """Links squash their bushings; a track bar or a watts linkage is held in short stiff ends and does not."""
    return row if row.name.startswith(_EXACT) else replace(row, stiffness=1.0)  # type: ignore[type-var]


def _add_links(
    values: Mapping[str, Any], which: str, letter: str, track: float, rows: list[Row], links: list[Link], *, pair: bool
) -> None:
    for end in ("axle", "body"):
        if f"{which}_{end}" not in values:
            raise SuspensionError(f'the {which} link has two ends; "{which}_{end}" is missing.')
    on_axle, on_car = point(values, f"{which}_axle"), point(values, f"{which}_body")
    letters = (f"{letter}A", f"{letter}C")
    rows.append(rod(f"{which} link", letters, Fixed(on_car), Riding(on_axle)))
    links.append(Strut(name=f"{which} link", inner=Fixed(on_car), outer=Riding(on_axle)))
    if f"{which}_body_2" in values:
        second = point(values, f"{which}_body_2")
        rows.append(rod(f"{which} arm, second leg", (letters[0], f"{letter}C2"), Fixed(second), Riding(on_axle)))
    elif pair:
        there, car = other_side(on_axle, track), other_side(on_car, track)
        rows.append(rod(f"other {which} link", letters, Fixed(car), Riding(there)))


def _add_ball(kind: str, values: Mapping[str, Any], track: float, rows: list[Row]) -> None:
    pivot = point(values, "arm_body")
    if kind == "truck-arm":
        there = other_side(pivot, track)
        rows.append(Ball(name="truck arm", letters=("AF",), a=Fixed(pivot), b=Riding(pivot)))
        rows.append(Ball(name="other truck arm", letters=("AF",), a=Fixed(there), b=Riding(there)))
    else:
        rows.append(Ball(name="front ball", letters=("AF",), a=Fixed(pivot), b=Riding(pivot)))


def _slipping_bush(bush: Array) -> Row:
    up = np.array([0.0, 0.0, 1.0])
    return Plane(
        name="torque arm's front bush", letters=("AF",), point=Riding(bush), normal=up, height_mm=float(bush[2])
    )


def _bar(values: Mapping[str, Any], links: list[Link]) -> Row:
    for name in ("bar_axle", "bar_body"):
        if name not in values:
            raise SuspensionError(f'a track bar has two ends; "{name}" is missing.')
    on_axle, on_car = point(values, "bar_axle"), point(values, "bar_body")
    links.append(Strut(name="track bar", inner=Fixed(on_car), outer=Riding(on_axle)))
    return rod("track bar", ("BA", "BC"), Fixed(on_car), Riding(on_axle))


def _watts(values: Mapping[str, Any]) -> list[Row]:
    """A lever on a pivot, and a link from each of its ends; the lever is the second body."""
    names = ("lever_pivot", "lever_end_1", "lever_end_2", "watts_end_1", "watts_end_2")
    for name in names:
        if name not in values:
            raise SuspensionError(f'a watts linkage needs {", ".join(names)}; "{name}" is missing.')
    pivot, one, two, far_one, far_two = (point(values, name) for name in names)
    on_axle = values.get("lever_on", "axle") == "axle"
    lever = np.cross(two - one, far_one - one)
    if np.linalg.norm(lever) < 1e-3 * np.linalg.norm(two - one) * np.linalg.norm(far_one - one):
        raise SuspensionError(
            "the watts lever and its links lie on one line. Check lever_end_1, lever_end_2, watts_end_1."
        )
    axis = lever / np.linalg.norm(lever)
    first = square_to(axis)
    second = np.cross(axis, first)
    base = 0 if on_axle else None
    held: Point = Riding(pivot) if on_axle else Fixed(pivot)
    rows: list[Row] = [Ball(name="lever's pivot", letters=("WP",), a=held, b=Riding(pivot, 1))]
    rows += [
        Square(
            name="lever's pivot axis", letters=("WP",), body=1, direction=axis, other=base, other_direction=direction
        )
        for direction in (first, second)
    ]
    for number, end, far in ((1, one, far_one), (2, two, far_two)):
        outer: Point = Fixed(far) if on_axle else Riding(far)
        rows.append(rod(f"watts linkage, link {number}", (f"W{number}", f"V{number}"), outer, Riding(end, 1)))
    return rows


def _knuckle(values: Mapping[str, Any], track: float) -> tuple[Kingpin | None, TieRod | CrossSteer | None]:
    """The kingpin of a steered axle, and what turns the knuckle when the axle moves."""
    if "kingpin_lower" not in values:
        return None, None
    lower, upper = point(values, "kingpin_lower"), point(values, "kingpin_upper")
    kingpin = kingpin_through(lower, upper)
    if "drag_inner" not in values and "drag_outer" not in values:
        return kingpin, None
    for name in ("drag_inner", "drag_outer"):
        if name not in values:
            raise SuspensionError(f'a drag link has two ends; "{name}" is missing.')
    inner, outer = steered_end(values, "drag_inner"), point(values, "drag_outer")
    assert isinstance(inner, Racked | Swung)
    if outer[1] > -track / 2.0:
        refuse_tie_rod_through_axis(kingpin, inner.point, outer)
        return kingpin, TieRod(kingpin=kingpin, inner=inner, outer_mm=outer)
    for name in ("track_rod_here", "track_rod_there"):
        if name not in values:
            raise SuspensionError(
                f'the drag link goes to the other wheel\'s knuckle, so the track rod turns this one; "{name}"'
                " is missing."
            )
    other = kingpin_through(other_side(lower, track), other_side(upper, track))
    here, there = point(values, "track_rod_here"), point(values, "track_rod_there")
    refuse_tie_rod_through_axis(other, inner.point, outer)
    refuse_tie_rod_through_axis(kingpin, there, here)
    drag = TieRod(kingpin=other, inner=inner, outer_mm=outer)
    return kingpin, CrossSteer(kingpin=kingpin, drag=drag, here_mm=here, there_mm=there)
