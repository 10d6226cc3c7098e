"""A beam axle of which its track bar alone was measured."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import numpy as np

from clearance.ends import families as ends
from clearance.errors import SuspensionError
from clearance.suspension.kinds.key import Key
from clearance.suspension.kinds.kind import Kind, Steer
from clearance.suspension.kinds.live_axle import BASICS
from clearance.suspension.linkage import Fixed, Plane, Riding, Row, Square, rod
from clearance.suspension.links import Strut
from clearance.suspension.live_axle import axle_on
from clearance.suspension.position import Cycle, Suspension


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


TRACK_BAR = Kind(
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
    build=_track_bar,
)
