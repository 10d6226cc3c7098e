"""Corners built from values, and changed.

Millimetres and degrees throughout, inches for the diameter and width of a rim, as the trade codes them.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from typing import Any

import numpy as np
import numpy.typing as npt

from clearance.answers import changed as one_change
from clearance.answers.tires import on_width
from clearance.errors import InputError, PartError
from clearance.mockup.mockup import MockUp
from clearance.pose import read_only
from clearance.suspension.kinds import build
from clearance.suspension.position import Cycle, Shift, Suspension
from clearance.terms import Terms
from clearance.tire.mounted import Tape, tire_for
from clearance.tire.tire import Tire
from clearance.units import MESH_UNITS
from clearance.well.part import Part
from clearance.well.part_kinds import PART_KINDS
from clearance.wheel.rim import wheel_for
from clearance.wheel.wheel import Wheel


def tire_from(
    marking: str | None = None,
    *,
    rim_width_in: float | None = None,
    rim_diameter_in: float | None = None,
    overall_diameter_mm: float | None = None,
    section_width_mm: float | None = None,
    measured_on_in: float | None = None,
    tread_width_mm: float | None = None,
    traced_mm: npt.ArrayLike | None = None,
    shape: str = "road",
    growth: str | tuple[float, float] = "none",
    chains: str | tuple[float, float] | None = None,
) -> Tire:
    """A tire by its marking, by what was measured, or both: what was measured counts.

    `traced_mm` (n, 2) is a traced section, across and radius; then `shape` is not used. Raises TireError.
    """
    tape = Tape(
        overall_diameter_mm=overall_diameter_mm,
        section_width_mm=section_width_mm,
        measured_on_in=measured_on_in,
        tread_width_mm=tread_width_mm,
        traced=None if traced_mm is None else np.array(traced_mm, dtype=float),
    )
    return tire_for(
        marking,
        rim_width_in=rim_width_in,
        rim_diameter_in=rim_diameter_in,
        tape=tape,
        shape=shape,
        growth=growth,
        chains=chains,
    )


def wheel_from(*, diameter_in: float, width_in: float, **values: Any) -> Wheel:
    """A wheel with its `offset_mm` or `backspace_mm`; the other keywords are those of `Wheel`'s own measures.

    They are overall_width_mm, flange_thickness_mm, flange_height_mm, barrel_inner_diameter_mm, face_mm, center_bore_mm
    and bolt_circle. Raises WheelError.
    """
    return wheel_for(diameter_in, width_in, **values)


def suspension_from(
    kind: str = "straight",
    *,
    bump_mm: float,
    droop_mm: float,
    other_bump_mm: float | None = None,
    other_droop_mm: float | None = None,
    articulation_mm: float | None = None,
    shift: Shift | None = None,
    steering: Mapping[str, Any] | None = None,
    **values: Any,
) -> Suspension:
    """A suspension of any kind of the corner file, from ride height `droop_mm` down to `bump_mm` up.

    `values` are the kind's own keys (docs/corner-file.md) as numbers, mm and deg, points as (3,); `steering` has left
    and right, deg, and where the kind needs one an axis. The other wheel's travel is this one's where a live axle does
    not say. Raises SuspensionError.
    """
    from clearance.suspension.kinds import KINDS

    live = kind in KINDS and KINDS[kind].live_axle
    up = bump_mm if other_bump_mm is None else other_bump_mm
    down = droop_mm if other_droop_mm is None else other_droop_mm
    cycle = Cycle(
        bump_mm=(-droop_mm, bump_mm),
        other_bump_mm=(-down, up) if live else (0.0, 0.0),
        articulation_mm=articulation_mm,
        shift=shift or Shift(),
    )
    arrays = {
        key: np.array(value, dtype=float) if isinstance(value, (list, tuple)) else value
        for key, value in values.items()
    }
    return build(kind, arrays, cycle, steering)


def surface_from(
    *,
    name: str,
    vertices: npt.ArrayLike,
    faces: npt.ArrayLike,
    unit: str,
    required_mm: float | None = None,
    rides_on: str = "body",
    thickness_mm: float = 0.0,
    uncertainty_mm: float = 0.0,
) -> Part:
    """A part from arrays (v, 3) and (f, 3); of a trimesh, its `vertices` and `faces`.

    Corner axes at ride height: ahead, outboard of the hub face, above. What has no file has no holes that are looked
    for: a scan with holes goes through a corner file. Raises PartError.
    """
    if unit not in MESH_UNITS:
        raise PartError(f'"{unit}" is no unit of a mesh. Write one of {", ".join(MESH_UNITS)}.', key="unit")
    points, rows = np.array(vertices, dtype=float), np.array(faces)
    if not _in_threes(points) or not _in_threes(rows) or rows.dtype.kind not in "iu":
        raise PartError("vertices are rows of three numbers, and faces rows of three whole numbers.", key="vertices")
    if len(rows) and not (rows.min() >= 0 and rows.max() < len(points)):
        raise PartError(f"a face names a corner that is not there: there are {len(points)} vertices.", key="faces")
    return Part(
        name=name,
        kind="mesh",
        triangles_mm=read_only(MESH_UNITS[unit] * points[rows]),
        required_mm=PART_KINDS["mesh"].required_mm if required_mm is None else required_mm,
        required_from="default for a mesh, common practice" if required_mm is None else "given",
        rides_on=rides_on,
        thickness_mm=thickness_mm,
        uncertainty_mm=uncertainty_mm,
    )


def _in_threes(table: np.ndarray) -> bool:
    return table.ndim == 2 and table.shape[1] == 3


def corner_from(
    *,
    corner: str,
    tire: Tire,
    wheel: Wheel,
    suspension: Suspension,
    parts: Sequence[Part],
    title: str = "corner",
    terms: Terms | None = None,
) -> MockUp:
    """A corner from values. `corner` is front-left, front-right, rear-left or rear-right.

    Inside this package everything is a left corner; of a right one give the mirror image, outboard positive, as a
    corner file does. Raises InputError for one that cannot be.
    """
    return MockUp(
        title=title,
        corner=corner,
        tire=tire,
        wheel=wheel,
        suspension=suspension,
        parts=tuple(parts),
        terms=terms or Terms(),
    )


def changed(
    corner: MockUp,
    *,
    backspace_mm: float | None = None,
    offset_mm: float | None = None,
    spacer_mm: float | None = None,
    rim_width_in: float | None = None,
    tire: Tire | str | None = None,
    bump_stop_mm: float | None = None,
    lock_less_deg: float | None = None,
    camber_more_deg: float | None = None,
    raised_mm: float | None = None,
    moved_mm: Mapping[str, npt.ArrayLike] | None = None,
    parts: Sequence[Part] | None = None,
    title: str | None = None,
) -> MockUp:
    """The same corner with what is given otherwise, and everything else as it is.

    `spacer_mm` is under the wheel as it stands; `bump_stop_mm` is how much earlier the stop comes in, `lock_less_deg`
    how much lock is given up each way, `raised_mm` how far the body is lifted; `moved_mm` takes parts by name, (3,)
    each; `parts` takes the place of all. Of backspace and offset one. Raises InputError for what cannot be.
    """
    if backspace_mm is not None and offset_mm is not None:
        raise InputError("backspace_mm and offset_mm say the same thing: give one of them.")
    given = {
        "rim_width_in": rim_width_in,
        "tire": tire,
        "backspace_mm": backspace_mm,
        "offset_mm": offset_mm,
        "spacer_mm": spacer_mm,
        "bump_stop_mm": bump_stop_mm,
        "lock_less_deg": lock_less_deg,
        "camber_more_deg": camber_more_deg,
        "raised_mm": raised_mm,
        "moved_mm": moved_mm,
        "parts": parts,
        "title": title,
    }
    found = corner
    for name, change in _CHANGES.items():
        if given[name] is not None:
            found = change(found, given[name])
    return found


def _with_parts_moved(corner: MockUp, moved_mm: Mapping[str, npt.ArrayLike]) -> MockUp:
    for name, by in moved_mm.items():
        corner = one_change.with_part_moved(corner, name, by)
    return corner


def _tire_like(given: Tire | str, corner: MockUp) -> Tire:
    """A tire as it is, or by its marking on this corner's rim."""
    if isinstance(given, Tire):
        return given
    return tire_for(given, rim_width_in=corner.wheel.width_in, rim_diameter_in=corner.wheel.diameter_in)


_CHANGES: Mapping[str, Callable[[MockUp, Any], MockUp]] = {
    "rim_width_in": on_width,
    "tire": lambda corner, tire: replace(corner, tire=_tire_like(tire, corner)),
    "backspace_mm": lambda corner, mm: one_change.with_offset(corner, corner.wheel.with_backspace(mm).offset_mm),
    "offset_mm": one_change.with_offset,
    "spacer_mm": lambda corner, mm: one_change.with_offset(corner, corner.wheel.offset_mm - mm),
    "bump_stop_mm": one_change.with_bump_stop,
    "lock_less_deg": lambda corner, deg: one_change.with_locks(corner, deg, deg),
    "camber_more_deg": one_change.with_camber,
    "raised_mm": one_change.with_body_lifted,
    "moved_mm": _with_parts_moved,
    "parts": lambda corner, parts: replace(corner, parts=tuple(parts)),
    "title": lambda corner, title: replace(corner, title=title),
}
"""Each change by its keyword, in the order in which they are made: the rim before the tire, both before the offset."""
