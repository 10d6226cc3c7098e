"""A corner file as the judge reads it: how the corner moves, how far it can be pushed, and what stands around it."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from .beams import Beam
from .measured import Measured
from .moving import Array
from .stances import Motion, Travel
from .tape import Table, angle_of, length_of
from .uprights import Upright

UPRIGHTS = ("double-wishbone", "strut", "multi-link")
MEASURED = ("straight", "table")


@dataclass(frozen=True, slots=True, eq=False)
class Car:
    """One corner of it."""

    motion: Motion
    travel: Travel
    articulation: float | None
    push: Array
    """(2, 2): least and greatest push, ahead and outboard."""
    hand: float
    """1 on the left, where a wheel that steers to the left turns out; -1 on the right."""
    tables: Mapping
    folder: Path

    def position(self, setting: Array) -> tuple[float, float, float]:
        """Bump, the other wheel's bump and steer, as the findings name a setting (3,)."""
        bump, other, out = self.motion.labels(setting[None])[0]
        return float(bump), float(other), float(self.hand * out)

    def settings(self, positions: Array) -> Array:
        """The settings (n, 3) that the findings name by bump, the other wheel's bump and steer (n, 3)."""
        return self.motion.settings(positions * [1.0, 1.0, self.hand])


def car_of(file: Path) -> Car:
    """The corner that a file describes. Raises CannotStand."""
    return car_from(tomllib.loads(file.read_text(encoding="utf-8")), file.parent)


def car_from(tables: Mapping, folder: Path) -> Car:
    """The corner of tables that were read. Raises CannotStand."""
    table, steering = tables["suspension"], tables.get("steering", {})
    hand = 1.0 if tables["corner"].endswith("left") else -1.0
    travel = _travel(table, steering, hand)
    if table["kind"] in UPRIGHTS:
        motion: Motion = Upright(table, travel)
    elif table["kind"] in MEASURED:
        motion = Measured(table, steering, travel, hand=hand)
    else:
        motion = Beam(table, steering, travel)
    shift = table.get("shift", {})
    flex = length_of(table, "sideways_flex")
    push = np.array(
        [
            [-length_of(shift, "behind"), length_of(shift, "ahead")],
            [-length_of(shift, "inboard") - flex, length_of(shift, "outboard") + flex],
        ]
    )
    limit = length_of(table, "articulation") if "articulation" in table else None
    return Car(motion, travel, limit, push, hand, tables, folder)


def _travel(table: Table, steering: Table, hand: float) -> Travel:
    bump, droop = length_of(table, "bump"), length_of(table, "droop")
    other = (0.0, 0.0)
    if "track" in table:
        other = (-length_of(table, "other_droop", droop), length_of(table, "other_bump", bump))
    outward, inward = ("left", "right") if hand > 0 else ("right", "left")
    rack = locks = None
    if "rack_left" in steering:
        rack = (length_of(steering, f"rack_{inward}"), length_of(steering, f"rack_{outward}"))
    elif "left" in steering or "right" in steering:
        locks = (angle_of(steering, inward), angle_of(steering, outward))
    return Travel(bump=(-droop, bump), other=other, locks=locks, rack=rack)
