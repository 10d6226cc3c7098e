"""The keys that a corner file can give for a suspension, and those that several kinds share.

* length, angle, number, text - one value
* point  - three lengths
* points - a list of points
* rows   - a list of rows, whose columns are named with their own dimensions
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

from clearance.ends import families as ends
from clearance.ends.ends import Ends, Point

Dimension = Literal["length", "angle", "number", "text", "point", "points", "rows"]


@dataclass(frozen=True, slots=True)
class Column:
    """One column of a key that is a list of rows."""

    name: str
    dimension: Dimension
    ends: Ends


@dataclass(frozen=True, slots=True, kw_only=True)
class Key:
    """One key of a corner file."""

    name: str
    dimension: Dimension
    help: str
    """One line: what to measure."""
    required: bool = False
    ends: Ends | Point | None = None
    """What it can be; a point's are of its coordinates, and the columns of rows have their own."""
    columns: tuple[Column, ...] = ()
    """For rows: each column, in order."""
    choices: tuple[str, ...] = ()
    """For text: the words that it may be."""
    one_to_axle: bool = False
    """A point that the axle has once, as of its track bar: from the other wheel it stands as far past the middle."""


CAMBER = Key(
    name="camber", dimension="angle", ends=ends.CAMBER, help="camber at ride height, positive with the top outboard"
)
TOE = Key(name="toe", dimension="angle", ends=ends.TOE, help="toe of this wheel at ride height, positive toe-in")


def hardpoint(name: str, help: str, *, required: bool = True, one_to_axle: bool = False) -> Key:
    """A key that is one point of the linkage."""
    return Key(name=name, dimension="point", ends=ends.HARDPOINT, help=help, required=required, one_to_axle=one_to_axle)


KINGPIN = (
    hardpoint("kingpin_lower", "KL: the lower end of the kingpin, or the lower ball joint"),
    hardpoint("kingpin_upper", "KU: its upper end"),
)


def optional(keys: tuple[Key, ...]) -> tuple[Key, ...]:
    """The same keys, none of which must be written."""
    return tuple(replace(key, required=False) for key in keys)
