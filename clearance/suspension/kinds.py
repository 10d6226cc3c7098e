"""The kinds of suspension that a corner file can name, the keys that each takes, and how each is built.

`KINDS` says what to ask of a user; `build` takes the answers, already in millimetres and degrees, in corner axes of a left
corner: points are [ahead, outboard, above] from the centre of the hub's mounting face at ride height.

* length, angle, number, text - one value
* point  - three lengths
* points - a list of points
* rows   - a list of rows, whose columns are named with their own dimensions
"""

from __future__ import annotations

import difflib
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Any, Literal

import numpy as np

from clearance.errors import SuspensionError
from clearance.suspension.position import Cycle, Suspension
from clearance.suspension.steering import Kingpin, kingpin_by_angles
from clearance.suspension.straight import Straight
from clearance.suspension.table import Table

Dimension = Literal["length", "angle", "number", "text", "point", "points", "rows"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Key:
    """One key of a corner file."""

    name: str
    dimension: Dimension
    help: str
    """One line: what to measure."""
    required: bool = False
    columns: tuple[tuple[str, Dimension], ...] = ()
    """For rows: the name and dimension of each column, in order."""
    choices: tuple[str, ...] = ()
    """For text: the words that it may be."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Kind:
    """One kind of suspension."""

    name: str
    help: str
    keys: tuple[Key, ...]
    live_axle: bool = False
    """True where the other wheel's travel moves this one: other_bump and other_droop are part of the cycle."""
    own_axis: bool = False
    """True where the hardpoints give the steering axis, so that [steering] needs none."""

    def key(self, name: str) -> Key:
        """The key of this name. Raises SuspensionError, suggesting the nearest, where there is none."""
        for key in self.keys:
            if key.name == name:
                return key
        known = [key.name for key in self.keys]
        near = difflib.get_close_matches(name, known, n=1)
        hint = f'Did you mean "{near[0]}"?' if near else f"It takes {', '.join(known)}."
        raise SuspensionError(f'suspension "{self.name}" has no key "{name}". {hint}')


CAMBER = Key(name="camber", dimension="angle", help="camber at ride height, positive with the top outboard")
TOE = Key(name="toe", dimension="angle", help="toe of this wheel at ride height, positive toe-in")

STEERING_KEYS: tuple[Key, ...] = (
    Key(name="left", dimension="angle", help="this wheel's angle at full left lock, as a turn plate reads it"),
    Key(name="right", dimension="angle", help="this wheel's angle at full right lock"),
)
"""Keys of [steering] beside `axis`. Of a mirrored right corner the two change places before they come here."""

AXIS_KEYS: tuple[Key, ...] = (
    Key(name="through", dimension="point", help="a point of the steering axis", required=True),
    Key(name="inclination", dimension="angle", help="how far its top leans inboard, seen from ahead", required=True),
    Key(name="caster", dimension="angle", help="how far its top leans back, seen from the side", required=True),
)
"""Keys of [steering] axis."""

KINDS: dict[str, Kind] = {}
"""Every kind by its word."""

Builder = Callable[[Mapping[str, Any], Cycle, "Steer"], Suspension]
_BUILDERS: dict[str, Builder] = {}


@dataclass(frozen=True, slots=True, kw_only=True)
class Steer:
    """What [steering] says, in millimetres and degrees."""

    kingpin: Kingpin | None = None


def build(
    kind: str,
    values: Mapping[str, Any],
    cycle: Cycle,
    steering: Mapping[str, Any] | None = None,
    *,
    title: str = "this corner",
) -> Suspension:
    """The suspension of this kind.

    `values` are the keys of `KINDS[kind]` with numbers in mm and deg, points as (3,), rows as (n, columns). `steering` holds
    `left`, `right` and, where the kind has no axis of its own, `axis` with `through`, `inclination` and `caster`; the cycle's
    steer range is set from it: right lock is the negative end.

    Raises SuspensionError for a kind or key that does not exist, a key that is missing, hardpoints that cannot be, and travel
    that the linkage cannot reach; `title` names the corner in that message.
    """
    if kind not in KINDS:
        near = difflib.get_close_matches(kind, list(KINDS), n=1)
        hint = f'Did you mean "{near[0]}"?' if near else f"Write one of {', '.join(KINDS)}."
        raise SuspensionError(f'there is no suspension kind "{kind}". {hint}')
    described = KINDS[kind]
    given = {name: value for name, value in values.items() if value is not None}
    for name in given:
        described.key(name)
    for key in described.keys:
        if key.required and key.name not in given:
            raise SuspensionError(f'suspension "{kind}" needs "{key.name}": {key.help}.')
    steer, cycle = _steer(described, steering, cycle, measured="steer_rows" in given)
    return _BUILDERS[kind](given, cycle, steer)


def _steer(kind: Kind, steering: Mapping[str, Any] | None, cycle: Cycle, *, measured: bool) -> tuple[Steer, Cycle]:
    if steering is None:
        return Steer(), cycle
    left, right = float(steering.get("left") or 0.0), float(steering.get("right") or 0.0)
    if left < 0 or right < 0:
        raise SuspensionError(
            f"a lock angle is a size, without a sign: left {left:g} deg, right {right:g} deg. Write both as positive angles."
        )
    cycle = replace(cycle, steer_deg=(-right, left))
    axis = steering.get("axis")
    if axis is None:
        if (left or right) and not (kind.own_axis or measured):
            raise SuspensionError(
                f'steering on suspension "{kind.name}" needs an axis: through = [ahead, outboard, above], inclination, caster.'
            )
        return Steer(), cycle
    if kind.own_axis:
        raise SuspensionError(
            f'suspension "{kind.name}" already has its steering axis in its hardpoints. Leave axis out of [steering].'
        )
    return Steer(kingpin=kingpin_by_angles(axis["through"], axis["inclination"], axis["caster"])), cycle


def offer(kind: Kind, builder: Builder) -> None:
    """Make a kind known."""
    KINDS[kind.name] = kind
    _BUILDERS[kind.name] = builder


def _straight(values: Mapping[str, Any], cycle: Cycle, steer: Steer) -> Suspension:
    return Straight(
        cycle=cycle,
        camber_deg=values.get("camber", 0.0),
        toe_deg=values.get("toe", 0.0),
        camber_deg_per_mm=values.get("camber_per_100mm", 0.0) / 100.0,
        toe_deg_per_mm=values.get("toe_per_100mm", 0.0) / 100.0,
        across_mm_per_mm=values.get("across_per_100mm", 0.0) / 100.0,
        along_mm_per_mm=values.get("along_per_100mm", 0.0) / 100.0,
        kingpin=steer.kingpin,
    )


offer(
    Kind(
        name="straight",
        help="straight up and down, with what changes per 100 mm of bump: all by tape and angle finder",
        keys=(
            CAMBER,
            TOE,
            Key(name="camber_per_100mm", dimension="angle", help="camber gained in 100 mm of bump"),
            Key(name="toe_per_100mm", dimension="angle", help="toe-in gained in 100 mm of bump"),
            Key(name="across_per_100mm", dimension="length", help="move outboard in 100 mm of bump"),
            Key(name="along_per_100mm", dimension="length", help="move ahead in 100 mm of bump"),
        ),
    ),
    _straight,
)


def _table(values: Mapping[str, Any], cycle: Cycle, steer: Steer) -> Suspension:
    steer_rows = values.get("steer_rows")
    return Table(
        cycle=cycle,
        rows=np.asarray(values["rows"], dtype=float),
        steer_rows=None if steer_rows is None else np.asarray(steer_rows, dtype=float),
        kingpin=steer.kingpin,
    )


offer(
    Kind(
        name="table",
        help="measured rows: jack the hub in 25 mm steps with the spring out and read tape and angle finder",
        keys=(
            Key(
                name="rows",
                dimension="rows",
                required=True,
                help="bump, across, along, camber and toe at five heights or more, ride height among them",
                columns=(
                    ("bump", "length"),
                    ("across", "length"),
                    ("along", "length"),
                    ("camber", "angle"),
                    ("toe", "angle"),
                ),
            ),
            Key(
                name="steer_rows",
                dimension="rows",
                help="the same at left lock, straight and right lock, at three heights: nine rows; steer is positive to the left",
                columns=(
                    ("bump", "length"),
                    ("steer", "angle"),
                    ("across", "length"),
                    ("along", "length"),
                    ("camber", "angle"),
                ),
            ),
        ),
    ),
    _table,
)
