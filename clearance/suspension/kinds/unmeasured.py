"""The kinds of corner whose links were not measured: by travel, and as it stands."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from clearance.ends import families as ends
from clearance.suspension.by_travel import (
    AXLES,
    WHEELS,
    AxisBounds,
    AxleByTravel,
    WheelByTravel,
    axle_unmeasured,
    wheel_unmeasured,
)
from clearance.suspension.kinds.key import CAMBER, TOE, Key
from clearance.suspension.kinds.kind import Kind, Steer
from clearance.suspension.kinds.live_axle import TRACK
from clearance.suspension.position import Cycle, Suspension
from clearance.suspension.unmeasured import Unmeasured

_DEFAULT = "its default follows from carried_by, common practice"
ACROSS = Key(
    name="across_per_100mm",
    dimension="length",
    ends=ends.BOUND_PER_100,
    help=f"the most that the wheel may go across, either way, in 100 mm of bump; {_DEFAULT}",
)
ALONG = Key(
    name="along_per_100mm",
    dimension="length",
    ends=ends.BOUND_PER_100,
    help=f"the most that it may go ahead or back in 100 mm of bump; {_DEFAULT}",
)
AXIS_WITHIN = Key(
    name="axis_within",
    dimension="length",
    ends=ends.AXIS_WITHIN,
    help="how far the steering axis may be from where [steering] has it, at hub height",
)
AXIS_TURNED = Key(
    name="axis_turned_within",
    dimension="angle",
    ends=ends.AXIS_TURNED_WITHIN,
    help="how far the steering axis may lean otherwise than [steering] has it",
)
CARRIED_BY_ANY = Key(
    name="carried_by",
    dimension="text",
    choices=(*AXLES, *WHEELS),
    help=f"what carries it, for what its links may do: {', '.join((*AXLES, *WHEELS))}",
)
_EITHER_KEYS = (ACROSS, ALONG, AXIS_WITHIN, AXIS_TURNED, CAMBER, TOE)
AXLE_KEYS = (
    TRACK,
    Key(
        name="carried_by",
        dimension="text",
        required=True,
        choices=tuple(AXLES),
        help=f"what carries the axle: {' or '.join(AXLES)}",
    ),
    Key(
        name="roll_centre_below",
        dimension="length",
        ends=ends.ROLL_CENTRE,
        help=f"how far below the hub's centre the axle may roll about; {_DEFAULT}",
    ),
    Key(
        name="roll_centre_above",
        dimension="length",
        ends=ends.ROLL_CENTRE,
        help=f"how far above it; {_DEFAULT}",
    ),
    *_EITHER_KEYS,
)
WHEEL_KEYS = (
    Key(
        name="carried_by",
        dimension="text",
        required=True,
        choices=tuple(WHEELS),
        help=f"what carries the wheel: {', '.join(WHEELS)}",
    ),
    Key(
        name="camber_per_100mm",
        dimension="angle",
        ends=ends.TURN_BOUND_PER_100,
        help=f"the most that camber may change, either way, in 100 mm of bump; {_DEFAULT}",
    ),
    Key(
        name="toe_per_100mm",
        dimension="angle",
        ends=ends.TURN_BOUND_PER_100,
        help=f"the most that toe may change; {_DEFAULT}",
    ),
    *_EITHER_KEYS,
)


def _axle_by_travel(values: Mapping[str, Any], cycle: Cycle, steer: Steer) -> Suspension:
    """A rigid axle by its track and travel."""
    axis = _axis(values)
    bounds = _over(AXLES[values["carried_by"]], values, suffixed=("roll_centre_below", "roll_centre_above"))
    words = (
        f"The axle's links were not measured: it may roll about any point from {bounds.roll_centre_below_mm:g} mm below"
        f" the hubs to {bounds.roll_centre_above_mm:g} mm above them, and in 100 mm of bump go"
        f" {bounds.across_per_100mm:g} mm across and {bounds.along_per_100mm:g} mm along (on {values['carried_by']},"
        " common practice where not written). All of that is in the answer; measuring the links narrows it.",
    )
    return AxleByTravel(
        measured=cycle,
        track_mm=float(values["track"]),
        unmeasured=axle_unmeasured(bounds, cycle, float(values["track"]), axis.at_lock(cycle, steer.kingpin), words),
        bounds=bounds,
        axis=axis,
        **_stance(values, steer),
    )


def _wheel_by_travel(values: Mapping[str, Any], cycle: Cycle, steer: Steer) -> Suspension:
    """A wheel of its own by its travel."""
    axis = _axis(values)
    bounds = _over(WHEELS[values["carried_by"]], values)
    words = (
        f"The links were not measured: in 100 mm of bump camber may change by {bounds.camber_per_100mm:g} deg, toe by"
        f" {bounds.toe_per_100mm:g} deg, and the wheel may go {bounds.across_per_100mm:g} mm across and"
        f" {bounds.along_per_100mm:g} mm along, either way (on a {values['carried_by']}, common practice where not"
        " written). All of that is in the answer; measuring the links narrows it.",
    )
    return WheelByTravel(
        measured=cycle,
        unmeasured=wheel_unmeasured(bounds, cycle, axis.at_lock(cycle, steer.kingpin), words),
        bounds=bounds,
        axis=axis,
        **_stance(values, steer),
    )


def _standing(values: Mapping[str, Any], cycle: Cycle, steer: Steer) -> Suspension:
    """A corner of which nothing but ride height is known."""
    words = (
        "This is the wheel where it stands. Neither its travel nor its locks were measured, so nothing is known of the"
        " gaps in motion: see what it could take with `clearance room`.",
    )
    return WheelByTravel(
        measured=cycle,
        unmeasured=Unmeasured(travel=True, words=words),
        **_stance(values, steer),
        standing=True,
    )


def _over(bounds: Any, values: Mapping[str, Any], suffixed: tuple[str, ...] = ()) -> Any:
    """The bounds with what the corner file says instead."""
    own = {name: abs(float(values[name])) for name in type(bounds).__slots__ if name in values}
    own |= {f"{name}_mm": float(values[name]) for name in suffixed if name in values}
    return replace(bounds, **own)


def _axis(values: Mapping[str, Any]) -> AxisBounds:
    return AxisBounds(
        within_mm=float(values.get("axis_within", 0.0)), within_deg=float(values.get("axis_turned_within", 0.0))
    )


def _stance(values: Mapping[str, Any], steer: Steer) -> dict[str, Any]:
    """What all three are given alike."""
    return {
        "camber_deg": values.get("camber", 0.0),
        "toe_deg": values.get("toe", 0.0),
        "kingpin": steer.kingpin,
        "carried_by": values.get("carried_by", ""),
    }


AXLE_BY_TRAVEL = Kind(
    name="axle-by-travel",
    help="a rigid axle by its track and travel, its links not measured: whatever they may do is in the answer",
    keys=AXLE_KEYS,
    live_axle=True,
    build=_axle_by_travel,
)

WHEEL_BY_TRAVEL = Kind(
    name="wheel-by-travel",
    help="a wheel of its own by its travel, its links not measured: whatever they may do is in the answer",
    keys=WHEEL_KEYS,
    build=_wheel_by_travel,
)

STANDING = Kind(
    name="standing",
    help="at ride height only: nothing of the travel was measured, and bump and droop are zero",
    keys=(CARRIED_BY_ANY, CAMBER, TOE),
    moves=False,
    build=_standing,
)
