"""A corner file from disk to a mock-up, and every refusal with its file, line and key.

TOML is read first, then each section by its model, then the values are built in the order in which they need one
another: wheel, tire, suspension, parts. The first thing that is wrong is the one that is said.

Everything inside is a left corner. A right corner is mirrored here, once: see `motion` for the steering and
`clearance.pose` for the axes.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path as FilePath
from typing import Any

import numpy as np

from clearance.description import clash_answers, clash_motion, clash_well, clash_wheel
from clearance.description.clash import Clash, clashes
from clearance.description.clash_well import Standing
from clearance.description.clash_wheel import Mounted
from clearance.description.lines import Path, path_text
from clearance.description.motion import motion_of
from clearance.description.parts.part import Surroundings
from clearance.description.refusal import Refusal
from clearance.description.rolling import marking_of, tire_of, wheel_of
from clearance.description.surroundings import parts_of
from clearance.description.tables import tables_of, text_at
from clearance.description.whole import Description, described
from clearance.description.written import InFile, Spot, Written
from clearance.errors import CornerFileError, InputError, SuspensionError
from clearance.mockup.mockup import MockUp
from clearance.mockup.solid import solid_of
from clearance.plain import MOST_TITLE
from clearance.plain import line as one_line
from clearance.steady import steady
from clearance.suspension.position import Suspension
from clearance.suspension.unmeasured import unmeasured_of
from clearance.tire.tire import Tire
from clearance.well.part import Part
from clearance.wheel.wheel import Wheel

WRITTEN = (*clash_wheel.BEFORE, *clash_motion.RULES, *clash_well.BEFORE, *clash_answers.RULES)
"""What two keys say against each other as they are written."""


def load(path: str | FilePath) -> MockUp:
    """The mock-up that a corner file describes.

    Raises CornerFileError with the file, the line, the key, what was found and what to write instead.
    """
    return of_text(text_at(path, str(path)), path)


@steady
def of_text(text: str, path: str | FilePath) -> MockUp:
    """The mock-up that the text of a corner file describes; what it names lies beside `path`.

    Raises CornerFileError as `load` does.
    """
    file = str(path)
    tables = tables_of(text, file)
    if is_car(tables):
        raise CornerFileError(
            'this is a car file, and one corner is wanted here. Write corner = "rear-left" for a corner file.',
            file=file,
            key="corner",
        )
    written = InFile(file, text)
    try:
        return mockup_of(tables, FilePath(path), written)
    except Refusal as wrong:
        raise said(wrong, written) from None


def is_car(tables: Mapping[str, Any]) -> bool:
    """Whether these tables are a car's: it has a [corner.rear-left], where a corner file has corner = "rear-left"."""
    return isinstance(tables.get("corner"), Mapping)


def said(wrong: Refusal, written: Written) -> CornerFileError:
    """A refusal with its file and line, and those of the key that it contradicts."""
    here = written.at(wrong.path)
    message = wrong.message
    if wrong.other is not None:
        there = written.at(wrong.other)
        elsewhere = "" if there.file == here.file else f" of {there.file}"
        message += f"\nIt contradicts {path_text(there.key)}, line {there.line}{elsewhere}."
    return CornerFileError(message, file=here.file, line=here.line, key=path_text(here.key))


# ---- from tables to the mock-up


def mockup_of(
    tables: Mapping[str, Any], path: FilePath, written: Written, *, across: frozenset[int] = frozenset()
) -> MockUp:
    """The mock-up that these tables describe; what they name lies beside `path`.

    `across` are the parts, by their place in the list, that were measured on the other side of the car. Raises Refusal.
    """
    read = described(tables, title=one_line(path.stem, MOST_TITLE))
    found = [*clashes(WRITTEN, read)]
    wheel, wheel_assumed = wheel_of(read.wheel)
    found += clashes(clash_wheel.AFTER, Mounted(read=read, wheel=wheel, marking=marking_of(read.tire)))
    tire, tire_assumed = tire_of(read.tire, wheel, path.parent)
    solid = _mounted(tire, wheel)
    right_hand = read.heading.right_hand
    motion = motion_of(read.motion, right_hand=right_hand, title=read.heading.title)
    circle = wheel.bolt_circle
    parts = parts_of(
        read.parts,
        Surroundings(
            reach_mm=reach_mm(solid, motion.suspension),
            frames=motion.suspension.frames,
            side="right" if right_hand else "left",
            folder=path.parent,
            bolt_circle=None if circle is None else (circle.studs, circle.diameter_mm),
            across=across,
        ),
    )
    standing = Standing(read=read, tire=tire, wheel=wheel, names=[part.name for part in parts])
    found += clashes(clash_well.AFTER, standing)
    return MockUp(
        title=read.heading.title,
        corner=read.heading.corner,
        tire=tire,
        wheel=wheel,
        suspension=motion.suspension,
        parts=parts,
        warnings=(
            *_stands_on(motion.suspension),
            *_unusual(read, found, written),
            *_doubts(read, parts, tire),
            *_warnings(read, tire, wheel),
        ),
        assumptions=(*wheel_assumed, *tire_assumed, *motion.assumptions),
        terms=read.terms,
        units=read.heading.units,
    )


def _stands_on(suspension: Suspension) -> tuple[str, ...]:
    """What the reader of any answer must know of a motion that was not measured."""
    unmeasured = unmeasured_of(suspension)
    return () if unmeasured is None else unmeasured.words


def _unusual(read: Description, found: Sequence[Clash], written: Written) -> tuple[str, ...]:
    """What the reader of any answer should look at first: unusual numbers, then odd pairs, each line by line."""
    odd: list[tuple[Path, Path | None, str]] = [
        (number.path, None, number.doubt) for number in read.numbers if number.doubt
    ]
    odd += [(clash.at, clash.against, clash.words) for clash in found]
    rows = [(against is not None, written.at(at), against, words) for at, against, words in odd]
    rows.sort(key=lambda row: (row[0], row[1].line))
    return tuple(dict.fromkeys(_beside(here, against, written) + words for _, here, against, words in rows))


def _beside(here: Spot, against: Path | None, written: Written) -> str:
    other = "" if against is None else f" and {_placed(written.at(against), here.file)}"
    return f"{_placed(here, written.file)}{other}: "


def _placed(spot: Spot, reader_is_in: str) -> str:
    of = "" if spot.file == reader_is_in else f" of {one_line(FilePath(spot.file).name)}"
    return f"line {spot.line}{of}, {path_text(spot.key)}"


def _mounted(tire: Tire, wheel: Wheel) -> Any:
    """The solid, built once here so that a tire and a wheel that cannot be one are refused with a line."""
    try:
        return solid_of(tire, wheel)
    except InputError as wrong:
        raise Refusal(("tire",), str(wrong)) from None


def reach_mm(solid: Any, suspension: Suspension) -> float:
    """Half the side of a cube about the hub that holds the tire at every position, with room to spare.

    The hub's farthest way from ride height is looked up at five settings of each number of a position and doubled with
    the rest: a sheet cut too large costs nothing, one cut too small would lie.
    """
    cycle = suspension.cycle
    axes = [np.linspace(low, high, 5) for low, high in cycle.box]
    rows = np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1).reshape(-1, 3)
    limit = cycle.articulation_mm
    if limit is not None:
        rows = rows[np.abs(rows[:, 0] - rows[:, 1]) <= limit]
    travel = float(np.abs(cycle.box[:2]).max())
    try:
        moved = float(np.linalg.norm(suspension.pose(rows).origin_mm, axis=-1).max()) if len(rows) else travel
    except SuspensionError:
        # what it cannot reach is refused, in words, by whoever asks for the gap; here the whole travel will do
        moved = 2 * travel
    shift = cycle.shift
    play = max(shift.inboard_mm, shift.outboard_mm) + max(shift.ahead_mm, shift.behind_mm)
    return float(np.ceil(2.0 * (solid.reach_mm + max(moved, travel) + play)))


def _doubts(read: Description, parts: Sequence[Part], tire: Tire) -> tuple[str, ...]:
    """What speaks against the place of a scan, before any gap is measured."""
    scans = {table.name for table in read.parts if table.kind == "mesh"}
    placed = [part for part in parts if part.name in scans and part.rides_on == "body"]
    if not placed:
        return ()
    from clearance.well.scan_doubt import doubts_of_place

    radius_mm = tire.full_diameter_mm / 2
    return tuple(
        doubt for part in placed for doubt in doubts_of_place(part.name, part.triangles_mm, tire_radius_mm=radius_mm)
    )


def _warnings(read: Description, tire: Tire, wheel: Wheel) -> tuple[str, ...]:
    said = [*tire.warnings, *wheel.warnings]
    if read.heading.front and read.motion.steering is None:
        said.append("a front corner without [steering]: it was measured straight ahead only, never at lock.")
    return tuple(dict.fromkeys(said))
