"""A corner read once, and then again with a few numbers otherwise: only what those numbers touch is built anew.

* Stood     - a corner as it was read: its tables, and the mock-up that they make
* put       - a number of the tables written otherwise; a part goes by its name
* again     - the mock-up with the tables otherwise, quick enough for a hand on a slider
* same_ride - do two corners move alike, but for where travel and lock end?
* on_same_ride - a corner that was read again, on the suspension that was built before

What is built here is what a reading of the whole file would build, but for what only a whole file can tell: whether two
sections contradict each other, and the notes at the head of an answer. So an answer that is kept is read from the file.
"""

from __future__ import annotations

import copy
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path as FilePath
from typing import Any

from clearance.answers.changed import with_cycle
from clearance.description import values
from clearance.description.car import car_of_text, tables_of_corner
from clearance.description.lines import Path
from clearance.description.load import reach_mm, said
from clearance.description.motion import cycle_of, motion_of, read_motion
from clearance.description.numbers import refuse_beyond
from clearance.description.parts.part import Surroundings
from clearance.description.reading import read
from clearance.description.refusal import Refusal
from clearance.description.rolling import tire_of, wheel_of
from clearance.description.schema import TireTable, WheelTable
from clearance.description.surroundings import part_built, part_table
from clearance.description.whole import described, numbers_otherwise
from clearance.description.written import InFile
from clearance.ends.ends import Number
from clearance.mockup.mockup import MockUp
from clearance.steady import steady
from clearance.suspension.position import Cycle

ENDS_OF_TRAVEL = ("bump", "droop", "other_bump", "other_droop")
LOCKS = ("left", "right")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Stood:
    """A corner as it was read."""

    path: FilePath
    """The file, whose folder has what it names."""
    tables: Mapping[str, Any]
    """As a corner file would say it; of a car file, everything laid over everything."""
    across: frozenset[int]
    """Parts, by their place, that were measured on the other side of the car."""
    mockup: MockUp
    corners: tuple[str, ...]
    """All corners of the file, in the order in which they stand on the car."""

    @property
    def numbers(self) -> tuple[Number, ...]:
        """Every number that was written, with its ends."""
        return described(self.tables, title=self.mockup.title).numbers


def stood(text: str, path: str | FilePath, corner: str | None = None) -> Stood:
    """The corner of a corner file, or this one of a car file, its first where none is named.

    Raises CornerFileError, and InputError for a corner that the file has not.
    """
    car = car_of_text(text, path)
    mockup = next(iter(car.corners.values())) if corner is None else car.at(corner)
    tables, across = tables_of_corner(text, path, mockup.corner)
    return Stood(path=FilePath(path), tables=tables, across=across, mockup=mockup, corners=tuple(car.corners))


def put(tables: Mapping[str, Any], changes: Mapping[Path, Any]) -> dict[str, Any]:
    """The tables with these keys otherwise; a step of a part is its name. None takes a key out."""
    found = copy.deepcopy(dict(tables))
    for path, value in changes.items():
        table: Any = found
        for step in path[:-1]:
            table = _inside(table, step)
        if value is None:
            table.pop(path[-1], None)
        else:
            table[path[-1]] = value
    return found


def _inside(table: Any, step: str | int) -> Any:
    if isinstance(table, list) and isinstance(step, str):
        for part in table:
            if part.get("name") == step:
                return part
        raise Refusal(("part",), f"no part is called {step}.")
    return table.setdefault(step, {}) if isinstance(table, dict) else table[step]


@steady
def again(before: Stood, tables: Mapping[str, Any]) -> Stood:
    """The corner with these tables, which differ in numbers alone. Raises CornerFileError for what cannot be."""
    try:
        return _again(before, tables)
    except Refusal as wrong:
        raise said(wrong, InFile(str(before.path), "")) from None


def _again(before: Stood, tables: Mapping[str, Any]) -> Stood:
    refuse_beyond(numbers_otherwise(tables, before.tables))
    mockup = before.mockup
    if tables["wheel"] != before.tables["wheel"] or tables["tire"] != before.tables["tire"]:
        wheel, _ = wheel_of(read(WheelTable, tables["wheel"], ("wheel",)))
        tire, _ = tire_of(read(TireTable, tables["tire"], ("tire",)), wheel, before.path.parent)
        mockup = replace(mockup, wheel=wheel, tire=tire)
    if _ride(tables) != _ride(before.tables):
        motion = read_motion(tables["suspension"], tables.get("steering"))
        moves = motion_of(motion, right_hand=mockup.right_hand, title=mockup.title)
        mockup = replace(mockup, suspension=moves.suspension)
    else:
        cycle = _cycle_of(before, tables)
        if cycle != mockup.suspension.cycle:
            mockup = with_cycle(mockup, cycle)
    return replace(before, tables=tables, mockup=_with_parts(before, tables, mockup))


def _cycle_of(before: Stood, tables: Mapping[str, Any]) -> Cycle:
    """The cycle with its ends where the tables have them; what links may do is left as it was."""
    mockup, now = before.mockup, before.mockup.suspension.cycle
    if tables["suspension"] != before.tables["suspension"]:
        motion = read_motion(tables["suspension"], tables.get("steering"))
        travel, _ = cycle_of(motion.travel, motion.kind)
        now = replace(now, bump_mm=travel.bump_mm, other_bump_mm=travel.other_bump_mm)
    steering, written = tables.get("steering", {}), before.tables.get("steering", {})
    if steering != written and all(name in steering for name in LOCKS):
        left, right = (values.angle(steering[name]) for name in LOCKS)
        # inside, a right corner is its mirror image, whose left is the car's right
        left, right = (right, left) if mockup.right_hand else (left, right)
        now = replace(now, steer_deg=(0.0 - right, left))
    return now


def _with_parts(before: Stood, tables: Mapping[str, Any], mockup: MockUp) -> MockUp:
    pairs = list(zip(before.tables["part"], tables["part"], strict=True))
    if all(old == new for old, new in pairs):
        return mockup
    around = _around(before, mockup)
    parts = {part.name: part for part in mockup.parts}
    for place, (old, new) in enumerate(pairs):
        if old != new:
            built = part_built(part_table(new, ("part", place)), around.measured_at(place), ("part", place))
            parts.update({part.name: part for part in built})
    return replace(mockup, parts=tuple(parts.values()))


def _around(before: Stood, mockup: MockUp) -> Surroundings:
    circle = mockup.wheel.bolt_circle
    return Surroundings(
        reach_mm=reach_mm(mockup.solid, before.mockup.suspension),
        frames=mockup.suspension.frames,
        side="right" if mockup.right_hand else "left",
        folder=before.path.parent,
        bolt_circle=None if circle is None else (circle.studs, circle.diameter_mm),
        across=before.across,
    )


def same_ride(one: Stood, other: Stood) -> bool:
    """Do both move alike, wherever travel and lock end?"""
    return _ride(one.tables) == _ride(other.tables) and one.mockup.corner == other.mockup.corner


def on_same_ride(found: Stood, before: Stood) -> Stood:
    """A corner that was read again, on the suspension that was built before where it is the same, travel and locks too.

    What was fitted and proven of that one's motion then holds for this.
    """
    cycle, now = before.mockup.suspension.cycle, found.mockup.suspension.cycle
    if not same_ride(found, before) or cycle != now:
        return found
    return replace(found, mockup=replace(found.mockup, suspension=before.mockup.suspension))


def _ride(tables: Mapping[str, Any]) -> tuple[dict[str, Any], dict[str, Any]]:
    moves = {key: value for key, value in tables["suspension"].items() if key not in ENDS_OF_TRAVEL}
    turns = {key: value for key, value in tables.get("steering", {}).items() if key not in LOCKS}
    return moves, turns
