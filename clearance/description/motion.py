"""[suspension] and [steering]: the keys that each kind takes, read into millimetres, degrees and a left corner.

A right corner is mirrored here, once: points are already [ahead, outboard, above] and camber and toe mean the same on
both sides, so all that changes is the steering. The wheel of a right corner at full left lock turns as the wheel of a
left corner does at full right lock: the two locks change places, and every measured steer angle changes its sign.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from pydantic_core import PydanticCustomError

from clearance.description.lines import Path
from clearance.description.numbers import READERS, numbers_in, numbers_of_keys
from clearance.description.reading import key_names, read
from clearance.description.refusal import Refusal, as_written, nearest, without_sign
from clearance.description.schema import TravelTable
from clearance.ends.ends import Ends, Number
from clearance.errors import SuspensionError
from clearance.suspension.kinds import AXIS_KEYS, KINDS, STEERING_KEYS, Key, Kind, build
from clearance.suspension.position import Cycle, Shift, Suspension

MOST_SCATTER_MM = 15.0
"""Readings scatter by 1 mm and 0.1 deg, which is 2 mm at the tread (from memory); this far, one is a slip."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Written:
    """What the two tables say, each value read, nothing built yet."""

    kind: Kind
    travel: TravelTable
    own: Mapping[str, Any]
    """The keys of the kind: mm, deg, points (3,), rows (n, columns); as the file has them, left or right."""
    steering: Mapping[str, Any] | None
    numbers: tuple[Number, ...]
    """Every number of the two, with its ends."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Motion:
    """How the corner moves, and what was assumed about it."""

    suspension: Suspension
    assumptions: tuple[str, ...] = ()


def read_motion(suspension: object, steering: object) -> Written:
    """The two tables, key by key. Raises Refusal."""
    path: Path = ("suspension",)
    table = _is_table(suspension, path)
    kind = _kind(table)
    own = {key: value for key, value in table.items() if key not in key_names(TravelTable)}
    shared = {key: value for key, value in table.items() if key not in own}
    _refuse_travel(shared, kind)
    travel = read(TravelTable, shared if kind.moves else {**shared, "bump": "0 mm", "droop": "0 mm"}, path)
    found = _values(own, kind.keys, path, _every_key(kind), f'suspension "{kind.name}"')
    turned = None if steering is None else _is_table(steering, ("steering",))
    numbers = [*numbers_in(TravelTable, shared, path), *numbers_of_keys(kind.keys, own, path)]
    written = Written(
        kind=kind,
        travel=travel,
        own=found,
        steering=None if turned is None else _steering(turned),
        numbers=(*numbers, *_steering_numbers(turned or {})),
    )
    _refuse_other_wheel(travel, kind)
    if written.steering is not None:
        _refuse_axis(written.steering, kind, measured="steer_rows" in found)
    return written


def motion_of(written: Written, *, right_hand: bool, title: str) -> Motion:
    """The suspension that they describe, as a left corner. Raises Refusal."""
    own, steering = written.own, written.steering
    if right_hand:
        own = _mirrored_rows(own, written.kind)
        steering = None if steering is None else _locks_swapped(steering)
    cycle, assumptions = cycle_of(written.travel, written.kind)
    try:
        built = build(written.kind.name, own, cycle, steering, title=title)
    except SuspensionError as wrong:
        raise Refusal(_blamed(wrong, written), str(wrong)) from None
    _refuse_scatter(built, written)
    return Motion(suspension=built, assumptions=(*assumptions, *getattr(built, "notes", ())))


def _refuse_scatter(built: Suspension, written: Written) -> None:
    """Measured rows that lie on no smooth curve together are not one suspension's."""
    if "rows" in written.own and built.uncertainty_mm > MOST_SCATTER_MM:
        raise Refusal(
            ("suspension", "rows"),
            f"the measured rows lie up to {built.uncertainty_mm:.0f} mm from any smooth curve, at the tread; tape and"
            " angle finder are good to 2 mm. Read them again: a sign, a point or a unit of one of them has slipped.",
        )


def _steering_numbers(table: Mapping[str, Any]) -> tuple[Number, ...]:
    path: Path = ("steering",)
    axis = numbers_of_keys(AXIS_KEYS, table.get("axis", {}), (*path, "axis"))
    return (*numbers_of_keys(STEERING_KEYS, table, path), *axis)


def _is_table(value: object, path: Path) -> Mapping[str, Any]:
    if not isinstance(value, Mapping):
        raise Refusal(path, f"{as_written(value)} is not a table. Write [{path[0]}] and its keys below it.")
    return value


def _kind(table: Mapping[str, Any]) -> Kind:
    path: Path = ("suspension", "kind")
    if "kind" not in table:
        raise Refusal(path, f'"kind" is missing. Write one of {", ".join(KINDS)}.')
    word = table["kind"]
    if not isinstance(word, str) or word not in KINDS:
        hint = nearest(word, KINDS) if isinstance(word, str) else f"Write one of {', '.join(KINDS)}."
        raise Refusal(path, f"{as_written(word)} is not a kind of suspension. {hint}")
    return KINDS[word]


def _every_key(kind: Kind) -> list[str]:
    return [*key_names(TravelTable), *(key.name for key in kind.keys)]


def _values(
    table: Mapping[str, Any], keys: Sequence[Key], path: Path, known: Sequence[str], owner: str
) -> dict[str, Any]:
    """Every value of a table by its key's dimension. Raises Refusal for unknown and missing keys."""
    by_name = {key.name: key for key in keys}
    for name in table:
        if name not in by_name:
            raise Refusal((*path, name), f"the key {as_written(name)} is not known to {owner}. {nearest(name, known)}")
    for key in keys:
        if key.required and key.name not in table:
            raise Refusal(
                (*path, key.name),
                f'"{key.name}" is missing: {key.help}. Write {key.name} = {_EXAMPLES[key.dimension]}.',
            )
    return {name: _value(by_name[name], value, (*path, name)) for name, value in table.items()}


def _value(key: Key, value: object, path: Path) -> Any:
    if key.dimension == "rows":
        return _rows(key, value, path)
    if key.dimension == "points":
        return _points(value, path)
    found = _read(key.dimension, value, path)
    if isinstance(found, float):
        _refuse_sign(key, found, value, path)
    if key.choices and found not in key.choices:
        raise Refusal(path, f"{as_written(value)} cannot be used here. {nearest(str(found), key.choices)}")
    return np.array(found) if key.dimension == "point" else found


def _points(value: object, path: Path) -> Any:
    if not isinstance(value, list) or not value:
        raise Refusal(path, f"{as_written(value)} is not a list of points [ahead, outboard, above].")
    return np.array([_read("point", item, (*path, i)) for i, item in enumerate(value)])


def _refuse_sign(key: Key, found: float, value: object, path: Path) -> None:
    """A minus where a size is asked for."""
    if found < 0 and isinstance(key.ends, Ends) and key.ends.least >= 0:
        what = "angle" if key.dimension == "angle" else "distance"
        raise Refusal(path, without_sign(key.name, value, what, key.help))


_EXAMPLES: dict[str, str] = {
    "length": '"120 mm"',
    "angle": '"8 deg"',
    "number": "0.5",
    "text": '"..."',
    "point": '["40 mm", "-95 mm", "120 mm"]',
    "points": '[["40 mm", "-95 mm", "120 mm"], ...]',
    "rows": '[["0 mm", "0 mm", ...], ...]',
}


def _read(dimension: str, value: object, path: Path) -> Any:
    try:
        return READERS[dimension](value)
    except PydanticCustomError as wrong:
        raise Refusal(path, wrong.message()) from None


def _rows(key: Key, value: object, path: Path) -> Any:
    names = [column.name for column in key.columns]
    if not isinstance(value, list) or not value:
        raise Refusal(path, f"{as_written(value)} is not a list of rows, each [{', '.join(names)}].")
    return np.array([_row(key, row, (*path, i)) for i, row in enumerate(value)])


def _row(key: Key, row: object, path: Path) -> list[float]:
    names = [column.name for column in key.columns]
    if isinstance(row, Mapping):
        return _named_row(key, row, path)
    row = _flat(row)
    if not isinstance(row, list) or len(row) != len(names):
        raise Refusal(path, f"a row is [{', '.join(names)}], {len(names)} values; found {as_written(row)}.")
    each = enumerate(zip(row, key.columns, strict=True))
    return [_read(column.dimension, item, (*path, i)) for i, (item, column) in each]


def _flat(row: object) -> object:
    """A row of points, as a link's two ends, as one row of their numbers; anything else as it is."""
    if isinstance(row, list) and all(isinstance(part, list) for part in row):
        return [item for part in row for item in part]
    return row


def _named_row(key: Key, row: Mapping[str, Any], path: Path) -> list[float]:
    names = [column.name for column in key.columns]
    for name in row:
        if name not in names:
            raise Refusal((*path, name), f"the column {as_written(name)} is not known here. {nearest(name, names)}")
    missing = [name for name in names if name not in row]
    if missing:
        raise Refusal(path, f"the row has no {' and no '.join(missing)}.")
    return [_read(column.dimension, row[column.name], (*path, column.name)) for column in key.columns]


def _steering(table: Mapping[str, Any]) -> dict[str, Any]:
    path: Path = ("steering",)
    flat = {name: value for name, value in table.items() if name != "axis"}
    known = [*(key.name for key in STEERING_KEYS), "axis"]
    found = _values(flat, STEERING_KEYS, path, known, "[steering]")
    if "axis" in table:
        axis = _is_table_at(table["axis"], (*path, "axis"))
        names = [key.name for key in AXIS_KEYS]
        found["axis"] = _values(axis, AXIS_KEYS, (*path, "axis"), names, "the steering axis")
    return found


def _is_table_at(value: object, path: Path) -> Mapping[str, Any]:
    if not isinstance(value, Mapping):
        raise Refusal(
            path, f"{as_written(value)} is not a table. Write {{ through = [...], inclination = ..., caster = ... }}."
        )
    return value


def _refuse_axis(steering: Mapping[str, Any], kind: Kind, *, measured: bool) -> None:
    path: Path = ("steering", "axis")
    turns = any(steering.get(name) for name in ("left", "right"))
    if "axis" in steering and kind.own_axis:
        raise Refusal(path, f'suspension "{kind.name}" has its steering axis in its hardpoints: leave axis out.')
    if turns and "axis" not in steering and not kind.own_axis and not measured:
        raise Refusal(
            path,
            '"axis" is missing: what the wheel steers about. Write'
            ' axis = { through = ["0 mm", "-95 mm", "0 mm"], inclination = "8 deg", caster = "3 deg" }.',
        )


def _locks_swapped(steering: Mapping[str, Any]) -> dict[str, Any]:
    """Steering of a right corner as that of a left one: whatever is said of one lock holds for the other."""
    other = {"left": "right", "right": "left", "rack_left": "rack_right", "rack_right": "rack_left"}
    return {other.get(name, name): value for name, value in steering.items()}


def _mirrored_rows(found: Mapping[str, Any], kind: Kind) -> dict[str, Any]:
    """Measured rows of a right corner as those of a left one: steer changes its sign."""
    mirrored = dict(found)
    for key in kind.keys:
        columns = [column.name for column in key.columns]
        if key.name in mirrored and "steer" in columns:
            rows = np.array(mirrored[key.name])
            rows[:, columns.index("steer")] *= -1.0
            mirrored[key.name] = rows
    return mirrored


def _refuse_travel(table: Mapping[str, Any], kind: Kind) -> None:
    """Travel where the kind says that none was measured."""
    for key in table if not kind.moves else ():
        if key != "kind":
            raise Refusal(
                ("suspension", key),
                f'suspension "{kind.name}" is for a wheel whose travel was not measured: leave {key} out, or write the'
                ' kind that carries the wheel; "axle-by-travel" and "wheel-by-travel" need no links.',
            )


def _refuse_other_wheel(travel: TravelTable, kind: Kind) -> None:
    """Keys of a live axle where there is none."""
    for name in ("other_bump", "other_droop", "articulation"):
        if not kind.live_axle and getattr(travel, name) is not None:
            raise Refusal(
                ("suspension", name),
                f'suspension "{kind.name}" is not moved by the other wheel: leave {name} out, or name a live axle.',
            )


def cycle_of(travel: TravelTable, kind: Kind) -> tuple[Cycle, tuple[str, ...]]:
    """The travel as it is written, without the steering, and what was taken for it."""
    shift = Shift(
        inboard_mm=travel.shift.inboard,
        outboard_mm=travel.shift.outboard,
        ahead_mm=travel.shift.ahead,
        behind_mm=travel.shift.behind,
    )
    bump = (0.0 - travel.droop, travel.bump)
    if not kind.live_axle:
        return Cycle(bump_mm=bump, shift=shift), ()
    other_bump = travel.bump if travel.other_bump is None else travel.other_bump
    other_droop = travel.droop if travel.other_droop is None else travel.other_droop
    assumed = travel.other_bump is None or travel.other_droop is None
    return (
        Cycle(
            bump_mm=bump,
            other_bump_mm=(0.0 - other_droop, other_bump),
            articulation_mm=travel.articulation,
            shift=shift,
        ),
        ("the other wheel of the axle is taken to have this wheel's travel",) if assumed else (),
    )


def _blamed(wrong: SuspensionError, written: Written) -> Path:
    """The key that a refusal is about: the one that it carries, or the first that it names; else the section."""
    if wrong.key:
        steps = tuple(wrong.key.split("."))
        if steps[0] in ("suspension", "steering"):
            return steps
        return ("steering", *steps) if steps[0] in (written.steering or {}) else ("suspension", *steps)
    if "measured table" in str(wrong) and "rows" in written.own:
        return ("suspension", "rows")
    return _first_named(wrong, written)


def _first_named(wrong: SuspensionError, written: Written) -> Path:
    """The first key that the words of a refusal name; else the section."""
    table, steering = written.own, written.steering or {}
    ours = {key.name for key in written.kind.keys if key.name not in ("camber", "toe")}
    for word in re.findall(r"[a-z_0-9]+", str(wrong)):
        if word in ours and ("_" in word or word in table):
            return ("suspension", word)
        if word in steering and "_" in word:
            return ("steering", word)
    return ("suspension",)
