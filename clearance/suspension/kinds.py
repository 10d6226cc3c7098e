"""The kinds of suspension that a corner file can name, the keys that each takes, and how each is built.

`KINDS` says what to ask of a user; `build` takes the answers, already in millimetres and degrees, in corner axes of a
left corner: points are [ahead, outboard, above] from the centre of the hub's mounting face at ride height.

* length, angle, number, text - one value
* point  - three lengths
* points - a list of points
* rows   - a list of rows, whose columns are named with their own dimensions
"""

from __future__ import annotations

import difflib
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Any, Literal

import numpy as np

from clearance.ends import families as ends
from clearance.ends.ends import Ends, Point
from clearance.errors import SuspensionError
from clearance.suspension.hinged import Hinged, TieRod
from clearance.suspension.independent import double_wishbone, multi_link, point, points_of, steered_end, strut
from clearance.suspension.leaf import leaf_arc, leaf_spring
from clearance.suspension.linkage import Fixed, Plane, Racked, Riding, Row, Square, Swung, rod
from clearance.suspension.linked import Linked
from clearance.suspension.links import Strut
from clearance.suspension.live_axle import axle_on, link_axle
from clearance.suspension.position import Cycle, Suspension
from clearance.suspension.soundness import refuse_slips, refuse_tie_rod_through_axis
from clearance.suspension.steering import Kingpin, kingpin_by_angles, kingpin_through
from clearance.suspension.straight import Straight
from clearance.suspension.table import Table

Dimension = Literal["length", "angle", "number", "text", "point", "points", "rows"]


@dataclass(frozen=True, slots=True)
class Column:
    """One column of a key that is a list of rows."""

    name: str
    dimension: Dimension
    ends: Ends


@dataclass(frozen=True, slots=True, kw_only=True)
class Key:
    """One key of a corner file."""

    name: str
    dimension: Dimension
    help: str
    """One line: what to measure."""
    required: bool = False
    ends: Ends | Point | None = None
    """What it can be; a point's are of its coordinates, and the columns of rows have their own."""
    columns: tuple[Column, ...] = ()
    """For rows: each column, in order."""
    choices: tuple[str, ...] = ()
    """For text: the words that it may be."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Kind:
    """One kind of suspension."""

    name: str
    help: str
    keys: tuple[Key, ...]
    live_axle: bool = False
    """True where the other wheel's travel moves this one: other_bump and other_droop are part of the cycle."""
    rack: bool = False
    """True where [steering] may give rack travel in place of lock angles."""
    moves: bool = True
    """False where nothing of the travel was measured, so that bump and droop have no place."""
    own_axis: bool = False
    """True where the hardpoints give the steering axis, so that [steering] needs none."""

    def key(self, name: str) -> Key:
        """The key of this name. Raises SuspensionError, suggesting the nearest, where there is none."""
        for key in self.keys:
            if key.name == name:
                return key
        known = [key.name for key in self.keys]
        near = difflib.get_close_matches(name, known, n=1)
        hint = f'Did you mean "{near[0]}"?' if near else f"It takes {', '.join(known)}."
        raise SuspensionError(f'suspension "{self.name}" has no key "{name}". {hint}')


CAMBER = Key(
    name="camber", dimension="angle", ends=ends.CAMBER, help="camber at ride height, positive with the top outboard"
)
TOE = Key(name="toe", dimension="angle", ends=ends.TOE, help="toe of this wheel at ride height, positive toe-in")

STEERING_KEYS: tuple[Key, ...] = (
    Key(
        name="left",
        dimension="angle",
        ends=ends.LOCK,
        help="this wheel's angle at full left lock, as a turn plate reads it",
    ),
    Key(name="right", dimension="angle", ends=ends.LOCK, help="this wheel's angle at full right lock"),
    Key(
        name="rack_left",
        dimension="length",
        ends=ends.RACK,
        help="the rack's travel from straight ahead to full left lock, as a size",
    ),
    Key(
        name="rack_right",
        dimension="length",
        ends=ends.RACK,
        help="the rack's travel from straight ahead to full right lock, as a size",
    ),
)
"""Keys of [steering] beside `axis`. Of a mirrored right corner the two change places before they come here."""

AXIS_KEYS: tuple[Key, ...] = (
    Key(name="through", dimension="point", ends=ends.HARDPOINT, help="a point of the steering axis", required=True),
    Key(
        name="inclination",
        dimension="angle",
        ends=ends.INCLINATION,
        help="how far its top leans inboard, seen from ahead",
        required=True,
    ),
    Key(
        name="caster",
        dimension="angle",
        ends=ends.CASTER,
        help="how far its top leans back, seen from the side",
        required=True,
    ),
)
"""Keys of [steering] axis."""

MOST_LOCK_DEG = ends.LOCK.most

KINDS: dict[str, Kind] = {}
"""Every kind by its word."""

Builder = Callable[[Mapping[str, Any], Cycle, "Steer"], Suspension]
_BUILDERS: dict[str, Builder] = {}


@dataclass(frozen=True, slots=True, kw_only=True)
class Steer:
    """What [steering] says, in millimetres and degrees."""

    kingpin: Kingpin | None = None
    rack_mm: tuple[float, float] | None = None
    """The rack's travel to the left and to the right lock, as sizes."""
    title: str = "this corner"


def build(
    kind: str,
    values: Mapping[str, Any],
    cycle: Cycle,
    steering: Mapping[str, Any] | None = None,
    *,
    title: str = "this corner",
) -> Suspension:
    """The suspension of this kind.

    `values` are the keys of `KINDS[kind]` with numbers in mm and deg, points as (3,), rows as (n, columns).
    `steering` holds `left`, `right` and, where the kind has no axis of its own, `axis` with `through`, `inclination`
    and `caster`; the cycle's steer range is set from it: right lock is the negative end.

    Raises SuspensionError for a kind or key that does not exist, a key that is missing, hardpoints that cannot be,
    and travel that the linkage cannot reach; `title` names the corner in that message.
    """
    if kind not in KINDS:
        near = difflib.get_close_matches(kind, list(KINDS), n=1)
        hint = f'Did you mean "{near[0]}"?' if near else f"Write one of {', '.join(KINDS)}."
        raise SuspensionError(f'there is no suspension kind "{kind}". {hint}')
    described = KINDS[kind]
    given = {name: value for name, value in values.items() if value is not None}
    for name in given:
        described.key(name)
    for key in described.keys:
        if key.required and key.name not in given:
            raise SuspensionError(f'suspension "{kind}" needs "{key.name}": {key.help}.')
    steer, cycle = _steer(described, steering, cycle, measured="steer_rows" in given)
    return _BUILDERS[kind](given, cycle, replace(steer, title=title))


def _steer(kind: Kind, steering: Mapping[str, Any] | None, cycle: Cycle, *, measured: bool) -> tuple[Steer, Cycle]:
    if steering is None:
        return Steer(), cycle
    rack = _rack(kind, steering)
    left, right = float(steering.get("left") or 0.0), float(steering.get("right") or 0.0)
    if left < 0 or right < 0:
        raise SuspensionError(
            f"a lock angle is a size, without a sign: left {left:g} deg, right {right:g} deg. Write both positive."
        )
    if left > MOST_LOCK_DEG or right > MOST_LOCK_DEG:
        raise SuspensionError(
            f"a lock angle of {max(left, right):g} deg is more than any car steers. Write the road wheel's own"
            " angle, as a"
            f" turn plate reads it, not the steering wheel's."
        )
    cycle = replace(cycle, steer_deg=(0.0 - right, left))
    axis = steering.get("axis")
    if axis is None:
        if (left or right) and not (kind.own_axis or measured):
            raise SuspensionError(
                f'steering on suspension "{kind.name}" needs an axis: through = [ahead, outboard, above], inclination,'
                f" caster."
            )
        return Steer(rack_mm=rack), cycle
    if kind.own_axis:
        raise SuspensionError(
            f'suspension "{kind.name}" already has its steering axis in its hardpoints. Leave axis out of [steering].'
        )
    if measured:
        raise SuspensionError(
            "steer_rows already say how the wheel steers. Leave axis out of [steering], or leave them out."
        )
    return Steer(kingpin=kingpin_by_angles(axis["through"], axis["inclination"], axis["caster"])), cycle


def _rack(kind: Kind, steering: Mapping[str, Any]) -> tuple[float, float] | None:
    given = {name: steering.get(name) for name in ("rack_left", "rack_right", "left", "right")}
    if given["rack_left"] is None and given["rack_right"] is None:
        return None
    if not kind.rack:
        able = ", ".join(name for name, other in KINDS.items() if other.rack)
        raise SuspensionError(
            f'suspension "{kind.name}" has no rack. Write left and right lock angles; a rack goes with {able}.'
        )
    if given["left"] is not None or given["right"] is not None:
        raise SuspensionError(
            "steering is given by lock angles and by rack travel at once. Keep the one that was measured."
        )
    if given["rack_left"] is None or given["rack_right"] is None:
        raise SuspensionError("rack travel needs both rack_left and rack_right, from straight ahead.")
    if given["rack_left"] < 0 or given["rack_right"] < 0:
        raise SuspensionError("rack travel is a size, without a sign. Write rack_left and rack_right positive.")
    return float(given["rack_left"]), float(given["rack_right"])


def offer(kind: Kind, builder: Builder) -> None:
    """Make a kind known."""
    KINDS[kind.name] = kind
    _BUILDERS[kind.name] = builder


def _straight(values: Mapping[str, Any], cycle: Cycle, steer: Steer) -> Suspension:
    return Straight(
        cycle=cycle,
        camber_deg=values.get("camber", 0.0),
        toe_deg=values.get("toe", 0.0),
        camber_deg_per_mm=values.get("camber_per_100mm", 0.0) / 100.0,
        toe_deg_per_mm=values.get("toe_per_100mm", 0.0) / 100.0,
        across_mm_per_mm=values.get("across_per_100mm", 0.0) / 100.0,
        along_mm_per_mm=values.get("along_per_100mm", 0.0) / 100.0,
        kingpin=steer.kingpin,
    )


offer(
    Kind(
        name="straight",
        help="straight up and down, with what changes per 100 mm of bump: all by tape and angle finder",
        keys=(
            CAMBER,
            TOE,
            Key(
                name="camber_per_100mm",
                dimension="angle",
                ends=ends.CAMBER_PER_100,
                help="camber gained in 100 mm of bump",
            ),
            Key(name="toe_per_100mm", dimension="angle", ends=ends.TOE_PER_100, help="toe-in gained in 100 mm of bump"),
            Key(
                name="across_per_100mm",
                dimension="length",
                ends=ends.MOVE_PER_100,
                help="move outboard in 100 mm of bump",
            ),
            Key(
                name="along_per_100mm", dimension="length", ends=ends.MOVE_PER_100, help="move ahead in 100 mm of bump"
            ),
        ),
    ),
    _straight,
)


def _table(values: Mapping[str, Any], cycle: Cycle, steer: Steer) -> Suspension:
    steer_rows = values.get("steer_rows")
    return Table(
        cycle=cycle,
        rows=np.asarray(values["rows"], dtype=float),
        steer_rows=None if steer_rows is None else np.asarray(steer_rows, dtype=float),
        kingpin=steer.kingpin,
    )


offer(
    Kind(
        name="table",
        help="measured rows: jack the hub in 25 mm steps with the spring out and read tape and angle finder",
        keys=(
            Key(
                name="rows",
                dimension="rows",
                required=True,
                help="bump, across, along, camber and toe at five heights or more, ride height among them",
                columns=(
                    Column("bump", "length", ends.ROW_BUMP),
                    Column("across", "length", ends.ROW_ACROSS),
                    Column("along", "length", ends.ROW_ALONG),
                    Column("camber", "angle", ends.ROW_CAMBER),
                    Column("toe", "angle", ends.ROW_TOE),
                ),
            ),
            Key(
                name="steer_rows",
                dimension="rows",
                help=(
                    "the same at left lock, straight and right lock, at three heights: nine rows; steer is"
                    " positive to the left"
                ),
                columns=(
                    Column("bump", "length", ends.ROW_BUMP),
                    Column("steer", "angle", ends.ROW_STEER),
                    Column("across", "length", ends.ROW_ACROSS),
                    Column("along", "length", ends.ROW_ALONG),
                    Column("camber", "angle", ends.ROW_CAMBER),
                ),
            ),
        ),
    ),
    _table,
)


def _p(name: str, help: str, *, required: bool = True) -> Key:
    return Key(name=name, dimension="point", ends=ends.HARDPOINT, help=help, required=required)


STEERED_END = (
    _p("tie_inner", "TI: the tie rod's inner end, on the rack or the steering arm", required=False),
    _p("tie_outer", "TO: the tie rod's outer end, on the knuckle", required=False),
    _p("arm_pivot", "a point of the axis of the steering arm, where the inner end is not on a rack", required=False),
    _p("arm_axis", "another point of that axis", required=False),
)

LOWER_ARM = (
    _p("lower_front", "LF: the lower arm's front pivot on the car"),
    _p("lower_rear", "LB: the lower arm's rear pivot on the car"),
    _p("lower_ball", "LU: the lower ball joint"),
)

Uprights = Callable[[Mapping[str, Any], Cycle, str], Linked]


def _upright(maker: Uprights) -> Builder:
    """A builder that turns rack travel into lock angles where that is what was measured."""

    def build_upright(values: Mapping[str, Any], cycle: Cycle, steer: Steer) -> Suspension:
        if steer.rack_mm is None:
            return maker(values, cycle, steer.title)
        if "tie_inner" not in values:
            raise SuspensionError("rack travel needs the tie rod that it moves: tie_inner and tie_outer.")
        travel = maker(values, replace(cycle, bump_mm=(0.0, 0.0), steer_deg=(0.0, 0.0)), steer.title).travel
        left_mm, right_mm = steer.rack_mm
        to_left = 1.0 if travel.steer_at(1.0) > 0.0 else -1.0
        locks = travel.steer_at(-to_left * right_mm), travel.steer_at(to_left * left_mm)
        return maker(values, replace(cycle, steer_deg=locks), steer.title)

    return build_upright


offer(
    Kind(
        name="double-wishbone",
        help="an upper and a lower arm, and a tie rod",
        keys=(
            _p("upper_front", "UF: the upper arm's front pivot on the car"),
            _p("upper_rear", "UB: the upper arm's rear pivot on the car"),
            _p("upper_ball", "UU: the upper ball joint"),
            *LOWER_ARM,
            *STEERED_END,
            CAMBER,
            TOE,
        ),
        own_axis=True,
        rack=True,
    ),
    _upright(double_wishbone),
)

offer(
    Kind(
        name="strut",
        help="a lower arm, a tie rod, and a strut that carries the upright",
        keys=(
            *LOWER_ARM,
            _p("strut_top", "ST: the centre of the strut's top mount"),
            _p("strut_bottom", "SB: any point low on the strut's axis"),
            *STEERED_END,
            CAMBER,
            TOE,
        ),
        own_axis=True,
        rack=True,
    ),
    _upright(strut),
)

offer(
    Kind(
        name="multi-link",
        help="five links to the upright, or four and a tie rod",
        keys=(
            Key(
                name="links",
                dimension="rows",
                required=True,
                help="each link: its end on the car, then its end on the upright; a two-legged arm is two links",
                columns=tuple(
                    Column(f"{end} {axis}", "length", own)
                    for end in ("inner", "outer")
                    for axis, own in ends.HARDPOINT.axes.items()
                ),
            ),
            *STEERED_END,
            CAMBER,
            TOE,
        ),
        own_axis=True,
        rack=True,
    ),
    _upright(multi_link),
)


def _hinged(kind: str, first: str, second: str, direction: tuple[float, float, float]) -> Builder:
    """An arm about the line through two keys, or through the first along `direction`."""

    def build_hinged(values: Mapping[str, Any], cycle: Cycle, steer: Steer) -> Suspension:
        refuse_slips(points_of(values))
        pivot = point(values, first)
        other = point(values, second) if second in values else pivot + 100.0 * np.array(direction)
        kingpin, tie = steer.kingpin, None
        if "kingpin_lower" in values:
            kingpin = kingpin_through(point(values, "kingpin_lower"), point(values, "kingpin_upper"))
            tie = _tie_rod(values, kingpin)
        return Hinged(
            kind=kind,
            cycle=cycle,
            first_mm=pivot,
            second_mm=other,
            camber_deg=float(values.get("camber", 0.0)),
            toe_deg=float(values.get("toe", 0.0)),
            kingpin=kingpin,
            tie_rod=tie,
            title=steer.title,
        )

    return build_hinged


def _tie_rod(values: Mapping[str, Any], kingpin: Kingpin) -> TieRod | None:
    if "tie_inner" not in values and "tie_outer" not in values:
        return None
    for name in ("tie_inner", "tie_outer"):
        if name not in values:
            raise SuspensionError(f'a tie rod has two ends; "{name}" is missing.')
    inner, outer = steered_end(values), point(values, "tie_outer")
    assert isinstance(inner, Racked | Swung)
    refuse_tie_rod_through_axis(kingpin, inner.point, outer)
    return TieRod(kingpin=kingpin, inner=inner, outer_mm=outer)


offer(
    Kind(
        name="trailing-arm",
        help="an arm about a line straight across the car",
        keys=(
            _p("pivot", "a point of the arm's hinge line"),
            _p("pivot_2", "another, where the line is not straight across", required=False),
            CAMBER,
            TOE,
        ),
    ),
    _hinged("trailing-arm", "pivot", "pivot_2", (0.0, 1.0, 0.0)),
)

offer(
    Kind(
        name="semi-trailing-arm",
        help="an arm about a slanting line",
        keys=(
            _p("outer_pivot", "the outer pivot on the car"),
            _p("inner_pivot", "the inner pivot on the car"),
            CAMBER,
            TOE,
        ),
    ),
    _hinged("semi-trailing-arm", "outer_pivot", "inner_pivot", (0.0, 1.0, 0.0)),
)

offer(
    Kind(
        name="swing-axle",
        help="a half axle about its inner joint, with or without a trailing arm",
        keys=(
            _p("inner_joint", "the centre of the inner universal joint"),
            _p(
                "arm_front",
                "the trailing arm's front pivot; without one the axle swings about a line along the car",
                required=False,
            ),
            CAMBER,
            TOE,
        ),
    ),
    _hinged("swing-axle", "inner_joint", "arm_front", (1.0, 0.0, 0.0)),
)

KINGPIN = (
    _p("kingpin_lower", "KL: the lower end of the kingpin, or the lower ball joint"),
    _p("kingpin_upper", "KU: its upper end"),
)

offer(
    Kind(
        name="twin-beam",
        help="a beam for each wheel, its pivot across the car, held by a radius arm; steered about a kingpin",
        keys=(
            _p("beam_pivot", "the beam's pivot on the car"),
            _p("arm_pivot_on_car", "the radius arm's pivot on the car"),
            *KINGPIN,
            *STEERED_END,
            CAMBER,
            TOE,
        ),
        own_axis=True,
    ),
    _hinged("twin-beam", "beam_pivot", "arm_pivot_on_car", (1.0, 0.0, 0.0)),
)


def _swing_arm(values: Mapping[str, Any], cycle: Cycle, steer: Steer) -> Suspension:
    length, height = float(values["swing_arm"]), float(values.get("centre_above", 0.0))
    centre = np.array([0.0, -length, height])
    return Hinged(
        kind="swing-arm",
        cycle=cycle,
        first_mm=centre,
        second_mm=centre + np.array([100.0, 0.0, 0.0]),
        camber_deg=float(values.get("camber", 0.0)),
        toe_deg=float(values.get("toe", 0.0)),
        kingpin=steer.kingpin,
        notes=("The instant centre is taken to stay where it was measured, which is right for small travel only.",),
        title=steer.title,
    )


offer(
    Kind(
        name="swing-arm",
        help="tape numbers of any independent corner: how long its swing arm is and how high its centre",
        keys=(
            Key(
                name="swing_arm",
                dimension="length",
                ends=ends.SWING_ARM,
                required=True,
                help="hub face to instant centre, inboard",
            ),
            Key(
                name="centre_above",
                dimension="length",
                ends=ends.CENTRE_ABOVE,
                help="how high the instant centre is above the hub",
            ),
            CAMBER,
            TOE,
        ),
    ),
    _swing_arm,
)

TRACK = Key(
    name="track", dimension="length", ends=ends.TRACK, required=True, help="hub face to hub face, across the axle"
)
LIMIT = Key(
    name="bushing_limit",
    dimension="length",
    ends=ends.BUSHING,
    help="the most that a bushing may give before it counts as binding",
)
FLEX = Key(
    name="sideways_flex",
    dimension="length",
    ends=ends.FLEX,
    help="how far the axle gives sideways under load; leaf springs 1 to 2 mm per kN (from memory), measure yours",
)
LOWER = (
    _p("lower_axle", "LA: this side's lower link, its end on the axle; the other side is its mirror image"),
    _p("lower_body", "LC: its end on the car"),
)
UPPER = (
    _p("upper_axle", "UA: the upper link's end on the axle"),
    _p("upper_body", "UC: its end on the car"),
)
BAR = (
    _p("bar_axle", "BA: the track bar's end on the axle", required=False),
    _p("bar_body", "BC: its end on the car", required=False),
)
WATTS = (
    _p("lever_pivot", "WP: the pivot of the lever", required=False),
    _p("lever_end_1", "W1: one end of the lever", required=False),
    _p("lever_end_2", "W2: its other end", required=False),
    _p("watts_end_1", "V1: the far end of the link from W1", required=False),
    _p("watts_end_2", "V2: the far end of the link from W2", required=False),
    Key(name="lever_on", dimension="text", help="what the lever's pivot is on", choices=("axle", "body")),
)
ONE_OR_TWO = Key(name="upper_links", dimension="text", help="how many upper links", choices=("one", "two"))
BASICS = (TRACK, CAMBER, TOE, LIMIT, FLEX)


def _optional(keys: tuple[Key, ...]) -> tuple[Key, ...]:
    return tuple(replace(key, required=False) for key in keys)


def _required(keys: tuple[Key, ...]) -> tuple[Key, ...]:
    return tuple(key if key.name == "lever_on" else replace(key, required=True) for key in keys)


def _on_links(kind: str) -> Builder:
    def build_axle(values: Mapping[str, Any], cycle: Cycle, steer: Steer) -> Suspension:
        return link_axle(kind, values, cycle, steer.title, steer.kingpin)

    return build_axle


def _offer_axle(name: str, help: str, *keys: Key) -> None:
    offer(Kind(name=name, help=help, keys=(*keys, *BASICS), live_axle=True), _on_links(name))


_offer_axle(
    "four-link", "two lower and two upper links, parallel with a track bar or splayed without", *LOWER, *UPPER, *BAR
)
_offer_axle(
    "three-link",
    "two lower links, one upper link and a track bar; or an upper arm with two legs and no bar",
    *LOWER,
    *UPPER,
    _p("upper_body_2", "UC2: the car end of the upper arm's second leg", required=False),
    *BAR,
)
_offer_axle(
    "watts-link",
    "lower and upper links, held sideways by a watts linkage",
    *LOWER,
    *UPPER,
    ONE_OR_TWO,
    *_required(WATTS),
)
_offer_axle(
    "torque-arm",
    "two lower links and a torque arm, held sideways by a track bar or a watts linkage",
    *LOWER,
    _p("arm_front", "AF: the torque arm's front bush, which slides fore and aft"),
    *BAR,
    *WATTS,
)
_offer_axle(
    "truck-arm",
    "two long arms fixed to the axle, and a track bar",
    _p("arm_body", "AF: this side's arm, its front pivot on the car; the other side is its mirror image"),
    *_required(BAR),
)
_offer_axle(
    "de-dion",
    "a tube between the hubs, on a central front ball or on links, with a track bar or a watts linkage",
    _p("arm_body", "AF: the central front ball, where there is one", required=False),
    *_optional(LOWER),
    *_optional(UPPER),
    ONE_OR_TWO,
    *BAR,
    *WATTS,
)

LEAF = (
    _p("front_eye", "FE: the spring's front eye, on the car"),
    _p("front_clamp", "FC: the front edge of the U-bolts, on the main leaf"),
    _p("rear_clamp", "RC: their rear edge"),
    _p("rear_eye", "RE: the rear eye, on the shackle"),
    _p("shackle_hanger", "SH: where the shackle hangs from the car"),
)


def _leaf(values: Mapping[str, Any], cycle: Cycle, steer: Steer) -> Suspension:
    return leaf_spring("leaf-spring", values, cycle, steer.title, steering_axis=steer.kingpin)


def _leaf_arc(values: Mapping[str, Any], cycle: Cycle, steer: Steer) -> Suspension:
    return leaf_arc("leaf-arc", values, cycle, steer.title, steering_axis=steer.kingpin)


offer(
    Kind(
        name="leaf-spring",
        help="an axle on two leaf springs, from the points of this side's spring",
        keys=(*LEAF, *BASICS),
        live_axle=True,
    ),
    _leaf,
)
offer(
    Kind(
        name="leaf-arc",
        help="an axle on two leaf springs, by tape: the front half's length and arch",
        keys=(
            Key(
                name="half_length",
                dimension="length",
                ends=ends.HALF_LEAF,
                required=True,
                help="front edge of the U-bolts to the front eye",
            ),
            Key(
                name="rear_half_length",
                dimension="length",
                ends=ends.HALF_LEAF,
                help="rear edge of the U-bolts to the rear eye",
            ),
            Key(
                name="arch",
                dimension="length",
                ends=ends.ARCH,
                help="how high the front eye stands over the main leaf at the clamp",
            ),
            Key(name="clamp_length", dimension="length", ends=ends.CLAMP, help="front to rear edge of the U-bolts"),
            Key(
                name="spring_inboard",
                dimension="length",
                ends=ends.SPRING_INBOARD,
                required=True,
                help="hub face to the spring's middle",
            ),
            Key(
                name="spring_above",
                dimension="length",
                ends=ends.SPRING_ABOVE,
                help="how high the main leaf at the clamp is above the hub",
            ),
            *BASICS,
        ),
        live_axle=True,
    ),
    _leaf_arc,
)


def _solid_steer(values: Mapping[str, Any], cycle: Cycle, steer: Steer) -> Suspension:
    if any(key.name in values for key in LEAF):
        for key in LEAF:
            if key.name not in values:
                raise SuspensionError(f'leaf springs need all of their points; "{key.name}" is missing.')
        return leaf_spring("solid-steer-axle", values, cycle, steer.title)
    return link_axle("solid-steer-axle", values, cycle, steer.title)


offer(
    Kind(
        name="solid-steer-axle",
        help="a steered beam axle, on leaf springs or on links, with kingpins and a drag link",
        keys=(
            *KINGPIN,
            _p("drag_inner", "the drag link's end on the pitman arm", required=False),
            _p("drag_outer", "its end on a knuckle, this one or the other", required=False),
            _p(
                "arm_pivot",
                "a point of the pitman arm's axis; without it the drag link's end slides across",
                required=False,
            ),
            _p("arm_axis", "another point of that axis", required=False),
            _p(
                "track_rod_here",
                "the track rod's end on this knuckle, where the drag link goes to the other",
                required=False,
            ),
            _p("track_rod_there", "its end on the other knuckle", required=False),
            *_optional(LEAF),
            *_optional(LOWER),
            *_optional(UPPER),
            ONE_OR_TWO,
            _p("upper_body_2", "UC2: the car end of the upper arm's second leg", required=False),
            *BAR,
            *BASICS,
        ),
        live_axle=True,
        own_axis=True,
    ),
    _solid_steer,
)


def _track_bar(values: Mapping[str, Any], cycle: Cycle, steer: Steer) -> Suspension:
    """A bar alone says what an axle does sideways; fore and aft and in wind-up it is taken to stay."""
    track, length = float(values["track"]), float(values["bar_length"])
    drop = float(values.get("axle_end_below", 0.0))
    if abs(drop) >= length:
        raise SuspensionError(
            f"a track bar of {length:g} mm cannot have ends {abs(drop):g} mm apart in height. Measure again."
        )
    flat = float(np.sqrt(length**2 - drop**2))
    near = values.get("car_end", "far") == "near"
    # the axle's end is on the other side of the car from the car's end, half a bar from the middle
    across = -track / 2.0 + (-0.5 if near else 0.5) * flat
    on_axle = np.array([0.0, across, float(values.get("axle_end_above_hub", 0.0))])
    on_car = on_axle + np.array([0.0, flat if near else -flat, drop])
    ahead, side = np.array([1.0, 0.0, 0.0]), np.array([0.0, 0.0, 1.0])
    there = np.array([0.0, -track, 0.0])
    rows: list[Row] = [
        rod("track bar", ("BA", "BC"), Fixed(on_car), Riding(on_axle)),
        Plane(name="this hub, fore and aft", letters=(), point=Riding(np.zeros(3)), normal=ahead, height_mm=0.0),
        Plane(name="the other hub, fore and aft", letters=(), point=Riding(there), normal=ahead, height_mm=0.0),
        Square(name="wind-up", letters=(), body=0, direction=ahead, other=None, other_direction=side),
    ]
    bar = Strut(name="track bar", inner=Fixed(on_car), outer=Riding(on_axle))
    axle = axle_on("track-bar", values, cycle, steer.title, rows, [bar], steering_axis=steer.kingpin)
    return replace(axle, taken=("Only the track bar is known: fore and aft and in wind-up the axle is taken to stay.",))


offer(
    Kind(
        name="track-bar",
        help="a beam axle by tape: how long its track bar is and how level",
        keys=(
            Key(name="bar_length", dimension="length", ends=ends.BAR_LENGTH, required=True, help="eye to eye"),
            Key(
                name="axle_end_below",
                dimension="length",
                ends=ends.BAR_DROP,
                help="how far the axle's end is below the car's end",
            ),
            Key(
                name="car_end",
                dimension="text",
                help="which side of the car its car end is on",
                choices=("near", "far"),
            ),
            Key(
                name="axle_end_above_hub",
                dimension="length",
                ends=ends.BAR_HEIGHT,
                help="how high the axle's end is above the hubs",
            ),
            *BASICS,
        ),
        live_axle=True,
    ),
    _track_bar,
)


def _offer_unmeasured() -> None:
    from clearance.suspension.unmeasured_kinds import UNMEASURED

    for kind, builder in UNMEASURED:
        offer(kind, builder)


_offer_unmeasured()
