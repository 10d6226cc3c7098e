"""A car whose truth is known, and a person with a tape beside it.

The car is one of the judge's inventions, with every hardpoint of its suspension. The person has its travel, its track,
its locks and, on a steered corner, the steering axis as a sight line gives it; never a hardpoint. What is compared is
what the tool says of the two files.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from judge.errors import CannotStand
from judge.inventing import invented
from judge.writing import Tables, deg, mm, point, text_of

import clearance
from clearance.gap.cycle import over_cycle

CARRIED_BY = {
    "double-wishbone": "wishbones",
    "strut": "strut",
    "multi-link": "multi-link",
    "trailing-arm": "trailing arm",
    "semi-trailing-arm": "semi-trailing arm",
    "swing-axle": "swing axle",
    "twin-beam": "twin beam",
    "four-link": "links",
    "three-link": "links",
    "watts-link": "links",
    "torque-arm": "links",
    "truck-arm": "links",
    "de-dion": "links",
    "track-bar": "links",
    "leaf-spring": "leaf springs",
    "leaf-arc": "leaf springs",
    "solid-steer-axle": "links",
}
"""What a person who looks under the car sees."""
OWN = ("bump", "droop", "other_bump", "other_droop", "articulation", "shift", "camber", "toe", "track")
AXIS_WITHIN_MM, AXIS_WITHIN_DEG = 10.0, 2.0
"""How well a steering axis is sighted."""


MOST_BUMP_STEER = 1.5
"""Degrees in 100 mm: a car that steers itself by more over a bump could not be driven straight (common practice). The
inventions scatter the ends of tie rods by more than any car has it, and those are left out."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Both:
    """One part, as the true car and the taped one have it."""

    kind: str
    number: int
    part: str
    required_mm: float
    true_mm: tuple[float, float]
    said_mm: tuple[float, float]
    verdict: str

    @property
    def holds(self) -> bool:
        """Does what is said contain the truth, and is no "clears" said of what does not?"""
        inside = self.said_mm[0] <= self.true_mm[1] + 1e-6 and self.true_mm[0] - 1e-6 <= self.said_mm[1]
        return inside and not (self.verdict == "clears" and self.true_mm[1] < self.required_mm)


def true_tables(number: int) -> Tables | None:
    """The tables of a true car whose parts all ride on its body; None where the number makes none."""
    found = invented(number)
    kind = found.tables["suspension"]["kind"]
    parts = [
        part
        for part in found.tables["part"]
        if part.get("rides_on", "body") == "body" and "ends_ride_on" not in part and part["kind"] != "mesh"
    ]
    if kind not in CARRIED_BY or not parts:
        return None
    return {**found.tables, "part": parts}


def taped_tables(true: Tables, rng: np.random.Generator) -> Tables:
    """The same car by its travel; the wheel, the tire and the well as they are."""
    own = true["suspension"]
    carried_by = CARRIED_BY[own["kind"]]
    axle = carried_by in ("links", "leaf springs")
    suspension = {"kind": "axle-by-travel" if axle else "wheel-by-travel", "carried_by": carried_by}
    suspension |= {key: own[key] for key in OWN if key in own}
    tables = {**true, "suspension": suspension}
    if "steering" in true:
        corner = clearance.read(text_of(true))
        tables["steering"] = _sighted(corner, true["steering"], rng)
        suspension |= {"axis_within": mm(AXIS_WITHIN_MM), "axis_turned_within": deg(AXIS_WITHIN_DEG)}
    return tables


def _sighted(corner: Any, steering: Tables, rng: np.random.Generator) -> Tables:
    """Locks as turn plates give them, and the axis within what a sight line is good for."""
    right, left = (-angle for angle in corner.suspension.cycle.steer_deg[:1]), corner.suspension.cycle.steer_deg[1:]
    locks = [next(iter(left)), next(iter(right))]
    if corner.right_hand:
        locks.reverse()
    kingpin = corner.suspension.kingpin
    if kingpin is None:
        raise CannotStand("nobody could sight this axis")
    at = kingpin.through_mm - kingpin.axis * (kingpin.through_mm[2] / kingpin.axis[2])
    size, way = AXIS_WITHIN_MM * rng.random(), 2.0 * np.pi * rng.random()
    at = at + np.array([size * np.cos(way), size * np.sin(way), 0.0])
    up = kingpin.axis * np.sign(kingpin.axis[2])
    inclination, caster = np.degrees(np.arctan2(-up[1], up[2])), np.degrees(np.arctan2(-up[0], up[2]))
    lean = 0.7 * AXIS_WITHIN_DEG
    return {
        "left": deg(locks[0]),
        "right": deg(locks[1]),
        "axis": {
            "through": point(at),
            "inclination": deg(inclination + rng.uniform(-lean, lean)),
            "caster": deg(caster + rng.uniform(-lean, lean)),
        },
    }


def bump_steer(corner: Any) -> float:
    """The most that toe changes with bump, in degrees for 100 mm of the longer travel."""
    low, high = corner.suspension.cycle.bump_mm
    rows = np.zeros((9, 3))
    rows[:, 0] = rows[:, 1] = np.linspace(low, high, 9)
    toe = [np.degrees(np.arctan2(axis[0], axis[1])) for axis in corner.suspension.pose(rows).axis]
    (ride,) = corner.suspension.pose(np.zeros((1, 3))).axis
    change = np.abs(np.array(toe) - np.degrees(np.arctan2(ride[0], ride[1]))).max()
    return float(change / max(abs(low), high) * 100.0)


def compared(number: int) -> list[Both]:
    """What is said of the true car and of the taped one, part by part; nothing where the number makes no car."""
    try:
        true = true_tables(number)
        if true is None:
            return []
        known = clearance.read(text_of(true))
        if bump_steer(known) > MOST_BUMP_STEER:
            return []
        taped = clearance.read(text_of(taped_tables(true, np.random.default_rng(number))))
    except (CannotStand, clearance.ClearanceError):
        return []
    truth = {gap.part: gap for gap in over_cycle(known)}
    found = []
    for gap in clearance.check(taped).value.gaps:
        real = truth[gap.part]
        found.append(
            Both(
                kind=true["suspension"]["kind"],
                number=number,
                part=gap.part,
                required_mm=gap.required_mm,
                true_mm=(real.at_least_mm, real.at_most_mm),
                said_mm=(gap.at_least_mm, gap.at_most_mm),
                verdict=gap.verdict,
            )
        )
    return found
