"""A corner file from disk to a mock-up, and every refusal with its file, line and key.

TOML is read first, then each section by its model, then the values are built in the order in which they need one
another: wheel, tire, suspension, parts. The first thing that is wrong is the one that is said.

Everything inside is a left corner. A right corner is mirrored here, once: see `motion` for the steering and
`clearance.pose` for the axes.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping, Sequence
from pathlib import Path as FilePath
from typing import Any

import numpy as np

from clearance.corner_file import clash_answers, clash_motion, clash_well, clash_wheel
from clearance.corner_file.clash import Clash, clashes
from clearance.corner_file.clash_well import Standing
from clearance.corner_file.clash_wheel import Mounted
from clearance.corner_file.description import Description, described
from clearance.corner_file.lines import Path, line_of, lines_of, path_text
from clearance.corner_file.motion import motion_of
from clearance.corner_file.refusal import Refusal
from clearance.corner_file.rolling import marking_of, tire_of, wheel_of
from clearance.corner_file.schema import MeshTable
from clearance.corner_file.surroundings import Surroundings, parts_of
from clearance.errors import CornerFileError, InputError, SuspensionError
from clearance.mockup.mockup import MockUp
from clearance.mockup.solid import solid_of
from clearance.suspension.position import Suspension
from clearance.tire.tire import Tire
from clearance.well.part import Part
from clearance.wheel.wheel import Wheel

MOST_BYTES = 4_000_000
"""A corner file is a page or two; a file larger than this is something else."""

WRITTEN = (*clash_wheel.BEFORE, *clash_motion.RULES, *clash_well.BEFORE, *clash_answers.RULES)
"""What two keys say against each other as they are written."""


def load(path: str | FilePath) -> MockUp:
    """The mock-up that a corner file describes.

    Raises CornerFileError with the file, the line, the key, what was found and what to write instead.
    """
    file = str(path)
    text = _text(FilePath(path), file)
    tables = _toml(text, file)
    try:
        return _mockup(tables, FilePath(path), text)
    except Refusal as wrong:
        raise _said(wrong, lines_of(text), file) from None


def _said(wrong: Refusal, lines: Mapping[Path, int], file: str) -> CornerFileError:
    """A refusal with its line, and that of the key that it contradicts."""
    message = wrong.message
    if wrong.other is not None:
        message += f"\nIt contradicts {path_text(wrong.other)}, line {line_of(lines, wrong.other)}."
    return CornerFileError(message, file=file, line=line_of(lines, wrong.path), key=path_text(wrong.path))


# ---- from bytes to tables


def _text(path: FilePath, file: str) -> str:
    try:
        with path.open("rb") as stream:
            content = stream.read(MOST_BYTES + 1)
    except FileNotFoundError:
        raise CornerFileError("there is no such file. Check the name and the folder.", file=file) from None
    except IsADirectoryError:
        raise CornerFileError("this is a folder. Name the corner file inside it.", file=file) from None
    except (OSError, ValueError) as wrong:
        reason = getattr(wrong, "strerror", None) or str(wrong)
        raise CornerFileError(f"the file cannot be opened: {reason}.", file=file) from None
    if len(content) > MOST_BYTES:
        raise CornerFileError(
            "the file is larger than 4 MB, which no corner file is. Name the TOML file; a scan is named inside it.",
            file=file,
        )
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as wrong:
        line = content.count(b"\n", 0, wrong.start) + 1
        raise CornerFileError(
            f"the file is not UTF-8 text: byte 0x{content[wrong.start]:02x} stands where a letter should."
            " Save it as UTF-8 from your editor.",
            file=file,
            line=line,
        ) from None


def _toml(text: str, file: str) -> Mapping[str, Any]:
    if not text.strip():
        raise CornerFileError(
            'the file is empty. Write corner = "rear-left", then [tire], [wheel], [suspension] and the parts.',
            file=file,
            line=1,
        )
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as wrong:
        line, message = _syntax(str(wrong), text)
        raise CornerFileError(message, file=file, line=line) from None
    except RecursionError:
        raise CornerFileError("brackets stand inside one another far too deep.", file=file, line=1) from None
    except ValueError as wrong:
        # a date like 2024-02-31, or a number with thousands of digits
        raise CornerFileError(f"a value cannot be read: {wrong}.", file=file, line=1) from None


_PLACE = re.compile(r" \(at (?:line (\d+), column (\d+)|end of document)\)$")
_UNQUOTED = re.compile(
    r"""(?P<key>[\w-]+)\s*=\s*(?P<value>[+-]?[\d.]+(?:[ -]\d+/\d+|/\d+)?\s*(?:mm|cm|m|in|ft|deg|"|')\.?)\s*(?:#.*)?$"""
)


_TOML_WORDS = {
    "Cannot overwrite a value": "this key stands here for the second time. Keep one of the two.",
    "Cannot declare": "this section stands here for the second time. Keep one, or use [[part]] for a list.",
    "Cannot mutate": "this key adds to something that is already closed. Put it into its own section.",
}


def _syntax(message: str, text: str) -> tuple[int, str]:
    """The line of a syntax error, and what is wrong with it in words."""
    place = _PLACE.search(message)
    rows = text.splitlines() or [""]
    line = int(place[1]) if place and place[1] else len(rows)
    reason = _PLACE.sub("", message)
    row = rows[line - 1].strip() if line <= len(rows) else ""
    unquoted = _UNQUOTED.search(row)
    if unquoted:
        key, value = unquoted["key"], unquoted["value"].strip()
        quoted = f"'{value}'" if '"' in value else f'"{value}"'
        return line, f"a measure stands between quotes: write {key} = {quoted}"
    for start, words in _TOML_WORDS.items():
        if reason.startswith(start):
            return line, words
    shown = f" The line reads: {row[:60]}" if row else ""
    return line, f"this is not TOML: {reason[:1].lower()}{reason[1:]}.{shown}"


# ---- from tables to the mock-up


def _mockup(tables: Mapping[str, Any], path: FilePath, text: str) -> MockUp:
    read = described(tables, title=path.stem)
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
        warnings=(*_unusual(read, found, text), *_doubts(read, parts, tire), *_warnings(read, tire, wheel)),
        assumptions=(*wheel_assumed, *tire_assumed, *motion.assumptions),
        extra=read.extra,
    )


def _unusual(read: Description, found: Sequence[Clash], text: str) -> tuple[str, ...]:
    """What the reader of any answer should look at first: unusual numbers and odd pairs, line by line."""
    odd: list[tuple[Path, Path | None, str]] = [
        (number.path, None, number.doubt) for number in read.numbers if number.doubt
    ]
    odd += [(clash.at, clash.against, clash.words) for clash in found]
    if not odd:
        return ()
    lines = lines_of(text)
    said = [(line_of(lines, at), _beside(lines, at, against) + words) for at, against, words in odd]
    return tuple(dict.fromkeys(words for _, words in sorted(said, key=lambda row: row[0])))


def _beside(lines: Mapping[Path, int], at: Path, against: Path | None) -> str:
    other = "" if against is None else f" and line {line_of(lines, against)}, {path_text(against)}"
    return f"line {line_of(lines, at)}, {path_text(at)}{other}: "


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
    scans = {table.name for table in read.parts if isinstance(table, MeshTable)}
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
