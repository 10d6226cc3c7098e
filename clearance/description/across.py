"""A corner as its other side: what changes in the tables of a corner when the same is measured across the car.

Places are [ahead, outboard, above] on both sides, so walls, links and angles stay as they are. What changes:

* the locks  - the left wheel at left lock turns as the right wheel does at right lock
* the axle's - what an axle has once, as its track bar: from the other hub it stands as far past the middle of the axle
* the travel - what is "the other wheel's" of one side is this wheel's of the other
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from pydantic_core import PydanticCustomError

from clearance.description import values
from clearance.description.refusal import Refusal
from clearance.suspension.kinds import KINDS, Kind

_UPPER = ("upper_axle", "upper_body", "upper_body_2")
_TRACK_ROD = ("track_rod_here", "track_rod_there")
_PAIRS = (("bump", "other_bump"), ("droop", "other_droop"))


def other_side(tables: Mapping[str, Any]) -> dict[str, Any]:
    """The tables of the same corner on the other side of the car.

    Raises Refusal where a point of the axle cannot be carried across.
    """
    turned = dict(tables)
    if isinstance(tables.get("steering"), Mapping):
        turned["steering"] = _locks_swapped(tables["steering"])
    suspension = tables.get("suspension")
    kind = suspension.get("kind") if isinstance(suspension, Mapping) else None
    if isinstance(kind, str) and kind in KINDS:
        turned["suspension"] = _suspension(tables["suspension"], KINDS[kind])
    return turned


def _locks_swapped(steering: Mapping[str, Any]) -> dict[str, Any]:
    names = {"left": "right", "right": "left", "rack_left": "rack_right", "rack_right": "rack_left"}
    return {names.get(key, key): value for key, value in steering.items()}


def _suspension(table: Mapping[str, Any], kind: Kind) -> dict[str, Any]:
    for key in _TRACK_ROD:
        if key in table:
            raise Refusal(
                ("suspension", key),
                "a track rod with an end on each knuckle is not the same seen from the other side. Write"
                " [suspension] of this corner out.",
            )
    found = dict(table)
    for mine, theirs in _PAIRS:
        if theirs in table:
            found[mine], found[theirs] = table[theirs], table.get(mine)
    for name in _of_the_axle(table, kind):
        found[name] = _past_the_middle(table[name], ("suspension", name), table)
    if "car_end" in table:
        found["car_end"] = {"near": "far"}.get(str(table["car_end"]), "near")
    elif kind.name == "track-bar":
        found["car_end"] = "near"
    if "steer_rows" in table:
        found["steer_rows"] = _steers_turned(table["steer_rows"], kind)
    return found


def _of_the_axle(table: Mapping[str, Any], kind: Kind) -> list[str]:
    from clearance.suspension.live_axle import ONE_UPPER

    names = [key.name for key in kind.keys if key.one_to_axle]
    if kind.name in ONE_UPPER and table.get("upper_links") != "two":
        names += _UPPER
    return [name for name in names if name in table]


def _past_the_middle(point: Any, path: tuple[str, ...], table: Mapping[str, Any]) -> Any:
    """A point [ahead, outboard, above] from the other hub: outboard becomes minus the track, minus itself."""
    try:
        track_mm, across_mm = values.length(table.get("track")), values.length(point[1])
    except (PydanticCustomError, TypeError, LookupError):
        # what cannot be read is refused where it is read
        return point
    return [point[0], f"{-track_mm - across_mm:.9g} mm", point[2]]


def _steers_turned(rows: Any, kind: Kind) -> Any:
    """Measured rows with the sign of their steer turned, as text or in a table."""
    columns = next(key.columns for key in kind.keys if key.name == "steer_rows")
    at = [column.name for column in columns].index("steer")
    return [_row_turned(row, at) for row in rows] if isinstance(rows, list) else rows


def _row_turned(row: Any, at: int) -> Any:
    if isinstance(row, Mapping):
        return {key: _minus(value) if key == "steer" else value for key, value in row.items()}
    if isinstance(row, list) and len(row) > at:
        return [_minus(value) if i == at else value for i, value in enumerate(row)]
    return row


def _minus(text: Any) -> Any:
    if not isinstance(text, str):
        return text
    words = text.strip()
    if words.startswith("-"):
        return words[1:].lstrip()
    return f"-{words.removeprefix('+').lstrip()}"
