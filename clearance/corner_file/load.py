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
from dataclasses import dataclass
from pathlib import Path as FilePath
from typing import Any

import numpy as np
from pydantic import BaseModel

from clearance.answers.sections import SECTION_NAMES, SectionError, read_sections
from clearance.corner_file.lines import Path, line_of, lines_of, path_text
from clearance.corner_file.motion import read_motion
from clearance.corner_file.reading import key_names
from clearance.corner_file.refusal import Refusal, as_written, nearest
from clearance.corner_file.rolling import read_tire, read_wheel
from clearance.corner_file.schema import CORNERS, PARTS, TireTable, TravelTable, WheelTable, listed
from clearance.corner_file.surroundings import Surroundings, read_parts
from clearance.corner_file.values import MOST_LETTERS
from clearance.errors import CornerFileError, InputError, SuspensionError
from clearance.mockup.mockup import MockUp
from clearance.mockup.solid import solid_of
from clearance.suspension.position import Suspension
from clearance.tire.tire import Tire
from clearance.well.part import Part
from clearance.wheel.wheel import Wheel

MOST_BYTES = 4_000_000
"""A corner file is a page or two; a file larger than this is something else."""

OWN_SECTIONS = ("title", "corner", "tire", "wheel", "suspension", "steering", "part")


def load(path: str | FilePath) -> MockUp:
    """The mock-up that a corner file describes.

    Raises CornerFileError with the file, the line, the key, what was found and what to write instead.
    """
    file = str(path)
    text = _text(FilePath(path), file)
    tables = _toml(text, file)
    try:
        return _mockup(tables, FilePath(path))
    except Refusal as wrong:
        line = line_of(lines_of(text), wrong.path)
        raise CornerFileError(wrong.message, file=file, line=line, key=path_text(wrong.path)) from None


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


@dataclass(frozen=True, slots=True, kw_only=True)
class _Heading:
    title: str
    corner: str

    @property
    def right_hand(self) -> bool:
        return self.corner.endswith("right")

    @property
    def front(self) -> bool:
        return self.corner.startswith("front")


def _mockup(tables: Mapping[str, Any], path: FilePath) -> MockUp:
    _refuse_unknown(tables)
    heading = _heading(tables, path)
    wheel, wheel_assumed = read_wheel(tables["wheel"])
    tire, tire_assumed = read_tire(tables["tire"], wheel, path.parent)
    solid = _mounted(tire, wheel)
    motion = read_motion(
        tables["suspension"], tables.get("steering"), right_hand=heading.right_hand, title=heading.title
    )
    circle = wheel.bolt_circle
    parts = read_parts(
        tables.get("part"),
        Surroundings(
            reach_mm=reach_mm(solid, motion.suspension),
            frames=motion.suspension.frames,
            side="right" if heading.right_hand else "left",
            folder=path.parent,
            bolt_circle=None if circle is None else (circle.studs, circle.diameter_mm),
        ),
    )
    extra = {name: tables[name] for name in SECTION_NAMES if name in tables}
    _refuse_answers(extra)
    return MockUp(
        title=heading.title,
        corner=heading.corner,
        tire=tire,
        wheel=wheel,
        suspension=motion.suspension,
        parts=parts,
        right_hand=heading.right_hand,
        warnings=(*_warnings(heading, tables, tire, wheel), *_doubts(tables, parts, tire)),
        assumptions=(*wheel_assumed, *tire_assumed, *motion.assumptions),
        extra=extra,
    )


def _refuse_unknown(tables: Mapping[str, Any]) -> None:
    known = (*OWN_SECTIONS, *SECTION_NAMES)
    for name in tables:
        if name not in known:
            what = "section" if isinstance(tables[name], (Mapping, list)) else "key"
            raise Refusal((name,), f'the {what} "{name}" is not known here. {_home(name) or nearest(name, known)}')
    if "corner" not in tables:
        raise Refusal(("corner",), f'"corner" is missing: which wheel this is. {listed(CORNERS)}')
    for name in ("tire", "wheel", "suspension"):
        if name not in tables:
            raise Refusal((name,), f"the section [{name}] is missing. Write [{name}] and its keys below it.")


def _home(key: str) -> str:
    """The section that a key would be known in, for one that stands outside it."""
    homes: dict[str, type[BaseModel]] = {"[tire]": TireTable, "[wheel]": WheelTable, "[suspension]": TravelTable}
    homes |= {f"a [[part]] of kind {kind}": model for kind, model in PARTS.items()}
    found = [home for home, model in homes.items() if key in key_names(model)]
    return f"It belongs below {found[0]}." if found else ""


def _heading(tables: Mapping[str, Any], path: FilePath) -> _Heading:
    corner = tables["corner"]
    if corner not in CORNERS:
        hint = nearest(corner, CORNERS) if isinstance(corner, str) else listed(CORNERS)
        raise Refusal(
            ("corner",), f"{as_written(corner)} is not a corner. {hint if 'Did' in hint else listed(CORNERS)}"
        )
    title = tables.get("title", path.stem or "corner")
    if not isinstance(title, str) or not title.strip():
        raise Refusal(("title",), f"{as_written(title)} is not a title. Write some words between quotes.")
    if len(title) > 2 * MOST_LETTERS or not title.strip().isprintable():
        raise Refusal(("title",), f"the title must be one line of at most {2 * MOST_LETTERS} letters.")
    return _Heading(title=title.strip(), corner=corner)


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


def _refuse_answers(extra: Mapping[str, Any]) -> None:
    try:
        read_sections(extra)
    except SectionError as wrong:
        raise Refusal(_steps(wrong.key), wrong.message) from None


def _steps(key: str) -> Path:
    # the name of a part may have dots of its own: only the first two steps are the section's and the key's
    return tuple(key.split(".", 2))


def _doubts(tables: Mapping[str, Any], parts: Sequence[Part], tire: Tire) -> tuple[str, ...]:
    """What speaks against the place of a scan, before any gap is measured."""
    scans = {table["name"].strip() for table in tables["part"] if table["kind"] == "mesh"}
    placed = [part for part in parts if part.name in scans and part.rides_on == "body"]
    if not placed:
        return ()
    from clearance.well.scan_doubt import doubts_of_place

    radius_mm = tire.full_diameter_mm / 2
    return tuple(
        doubt for part in placed for doubt in doubts_of_place(part.name, part.triangles_mm, tire_radius_mm=radius_mm)
    )


def _warnings(heading: _Heading, tables: Mapping[str, Any], tire: Tire, wheel: Wheel) -> tuple[str, ...]:
    said = [*tire.warnings, *wheel.warnings]
    if heading.front and "steering" not in tables:
        said.append("a front corner without [steering]: it was measured straight ahead only, never at lock.")
    return tuple(dict.fromkeys(said))
