"""[wheel] and [tire]: what rolls, from a marking or a tape, with everything that was assumed said."""

from __future__ import annotations

import math
import os
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path as FilePath

import numpy as np

from clearance.description.lines import Path
from clearance.description.numbers import refuse_beyond
from clearance.description.refusal import Refusal
from clearance.description.schema import ChainRoom, Growth, TireTable, Traced, WheelTable
from clearance.ends import families
from clearance.ends.ends import Number
from clearance.errors import FileError, InputError
from clearance.opener import Row, beside, rows_in, text_of
from clearance.plain import line as shown_line
from clearance.plain import quoted
from clearance.pose import Array, read_only
from clearance.tire.basis import Basis
from clearance.tire.mounted import Tape, tire_for
from clearance.tire.size import Marking
from clearance.tire.size import read as read_marking
from clearance.tire.tire import Tire
from clearance.units import MM_PER_INCH, MOST_MM, both
from clearance.wheel.bolt_circle import BoltCircle
from clearance.wheel.contour import contour_of
from clearance.wheel.rim import wheel_for
from clearance.wheel.wheel import BARREL_WALL_MM, Wheel

Assumed = tuple[str, ...]


def wheel_of(given: WheelTable) -> tuple[Wheel, Assumed]:
    """The wheel of [wheel], and what was assumed about it. Raises Refusal."""
    path: Path = ("wheel",)
    try:
        wheel = wheel_for(
            given.diameter,
            given.width,
            offset_mm=given.offset,
            backspace_mm=given.backspace,
            flange_thickness_mm=given.flange_thickness,
            flange_height_mm=given.flange_height,
            barrel_inner_diameter_mm=given.barrel_inner_diameter,
            face_mm=given.face,
            center_bore_mm=given.center_bore,
            bolt_circle=_circle(given),
        )
    except InputError as wrong:
        raise Refusal((*path, wrong.key) if wrong.key else path, str(wrong)) from None
    return replace(wheel, sources={**wheel.sources, **_written(given)}), _wheel_assumed(given, wheel)


def _circle(given: WheelTable) -> BoltCircle | None:
    if given.bolt_circle is None:
        return None
    studs, diameter_mm = given.bolt_circle
    try:
        return BoltCircle(studs=studs, diameter_mm=diameter_mm)
    except InputError as wrong:
        raise Refusal(("wheel", "bolt_circle"), str(wrong)) from None


def _written(given: WheelTable) -> dict[str, str]:
    """The values that the file gives, each with that for its source; what it leaves out has the rim's own."""
    names = {"diameter": "diameter_in", "width": "width_in", "backspace": "offset"}
    keys = [key for key in WheelTable.model_fields if getattr(given, key) is not None]
    return {names.get(key, key): "corner file" for key in keys}


def _wheel_assumed(given: WheelTable, wheel: Wheel) -> Assumed:
    contour = contour_of(wheel.diameter_in)
    said = []
    if given.flange_thickness is None:
        said.append(
            f"each rim flange is taken as {both(wheel.flange_thickness_mm)} thick, so the rim is one inch wider over"
            " all than its width (common practice); measure flange_thickness"
        )
    if given.flange_height is None:
        said.append(
            f"the rim flange is taken as {both(wheel.flange_height_mm)} high by its {contour.name} contour:"
            f" {contour.source}"
        )
    if given.barrel_inner_diameter is None:
        said.append(
            f"inside, the barrel is taken as {both(wheel.barrel_mm)}: bead seat less a well"
            f" {contour.well_depth_mm:g} mm deep ({contour.name} contour) and {BARREL_WALL_MM:g} mm of metal on each"
            " side; measure barrel_inner_diameter if anything sits inside the rim"
        )
    if given.face is None:
        said.append(
            f"the wheel's face is taken as flush with its outer flange, {both(wheel.face_outboard_mm)} outboard"
        )
    if given.center_bore is None:
        said.append("the middle of the wheel is taken as closed: no center_bore is given")
    return tuple(said)


# ---- the tire


def marking_of(given: TireTable) -> Marking | None:
    """What the tire's marking says, where one is given. Raises Refusal."""
    path: Path = ("tire",)
    if given.size is not None:
        try:
            return read_marking(given.size)
        except InputError as wrong:
            raise Refusal((*path, "size"), str(wrong)) from None
    for key in ("overall_diameter", "section_width"):
        if not isinstance(given.shape, Traced) and getattr(given, key) is None:
            raise Refusal((*path, key), f'"{key}" is missing. Measure it, or write size = "235/75R15" as marked.')
    return None


def tire_of(given: TireTable, wheel: Wheel, folder: FilePath) -> tuple[Tire, Assumed]:
    """The tire of [tire] as it stands on this wheel, and what was assumed about it. Raises Refusal."""
    path: Path = ("tire",)
    stated = (given.overall_diameter, given.section_width)
    if given.measured and stated == (None, None) and not isinstance(given.shape, Traced):
        raise Refusal((*path, "measured"), "nothing was measured: write overall_diameter or section_width beside it.")
    if given.measured_on is not None and given.section_width is None:
        raise Refusal((*path, "measured_on"), "measured_on says where section_width was measured: write that too.")
    tape = Tape(
        overall_diameter_mm=given.overall_diameter,
        section_width_mm=given.section_width,
        measured_on_in=given.measured_on,
        measured=given.measured,
        tread_width_mm=given.tread_width,
        traced=read_traced(given.shape, folder) if isinstance(given.shape, Traced) else None,
    )
    try:
        tire = tire_for(
            given.size,
            rim_width_in=wheel.width_in,
            rim_diameter_in=given.rim_diameter or wheel.diameter_in,
            tape=tape,
            shape="traced" if isinstance(given.shape, Traced) else given.shape,
            growth=(given.growth.width, given.growth.diameter) if isinstance(given.growth, Growth) else given.growth,
            chains=(given.chains.tread, given.chains.side) if isinstance(given.chains, ChainRoom) else given.chains,
        )
    except InputError as wrong:
        raise Refusal((*path, *_blamed(wrong, given)), str(wrong)) from None
    refuse_beyond(_made(given, tire))
    return tire, _tire_assumed(given, tire)


def _made(given: TireTable, tire: Tire) -> Iterator[Number]:
    """The dimensions that nobody wrote: those that a marking or a traced section gives."""
    key: Path = ("shape", "file") if isinstance(given.shape, Traced) else ("size",)
    made = {
        "overall_diameter": (tire.overall_diameter_mm, families.OVERALL_DIAMETER),
        "section_width": (tire.section_width_mm, families.SECTION_WIDTH),
        "tread_width": (tire.tread_width_mm, families.TREAD_WIDTH),
    }
    for name, (size_mm, ends) in made.items():
        if getattr(given, name) is None:
            yield Number(path=("tire", *key), text=f"{size_mm:.4g} mm", value=size_mm, ends=ends)


def _blamed(wrong: InputError, given: TireTable) -> Path:
    """The key that a refusal of the tire is most likely about."""
    if wrong.key:
        return tuple(wrong.key.split("."))
    words = {"trac": "shape", "tread width": "tread_width", "overall diameter": "overall_diameter"}
    named = [key for start, key in words.items() if start in str(wrong) and key in given.model_fields_set]
    return (named[0],) if named else ()


def _tire_assumed(given: TireTable, tire: Tire) -> Assumed:
    said = []
    if given.size is None and given.rim_diameter is None:
        said.append(f"the tire is taken to fit the wheel: a {tire.rim_diameter_in:g} in rim")
    if not isinstance(given.shape, Traced):
        if given.overall_diameter is None:
            said.append(_not_measured(tire, "overall diameter", tire.overall_diameter_mm, tire.overall_from))
        if given.section_width is None:
            said.append(_not_measured(tire, "section width", tire.section_width_mm, tire.section_from))
    if given.tread_width is None and not isinstance(given.shape, Traced):
        said.append(f"the tread is taken as {both(tire.tread_width_mm)} wide: {tire.sources['tread_width']}")
    if "growth" not in given.model_fields_set:
        said.append('the tire is taken as new: no growth in service (growth = "in-service" adds it)')
    return tuple(said)


def _not_measured(tire: Tire, name: str, value_mm: float, basis: Basis) -> str:
    """What a dimension that nobody measured stands on."""
    source = tire.sources[name.replace(" ", "_")]
    if basis is Basis.BOUND:
        return (
            f"the {name} is not known: {both(value_mm)} is used, which errs large, so that the gaps can only be larger"
            f" ({source}); measure {name.replace(' ', '_')}"
        )
    if basis is Basis.TABLE:
        return f"the {name} is {both(value_mm)}, the largest published for its marking, not measured ({source})"
    return f"the {name} is {both(value_mm)} by its marking, not measured ({source})"


def read_traced(traced: Traced, folder: FilePath) -> Array:
    """(n, 2) points (across, radius) in mm of a traced section. Raises Refusal with the row that cannot be read."""
    path: Path = ("tire", "shape", "file")
    place = folder
    try:
        place = beside(folder, traced.file)
        text = text_of(place)
        rows = rows_in(text, place, most_rows=MOST_TRACED)
    except FileError as wrong:
        if not os.path.lexists(place):
            raise Refusal(path, f"there is no file {place}. Put it beside the corner file.") from None
        at = f", line {wrong.line}" if wrong.line else ""
        raise Refusal(path, f"{shown_line(traced.file)}{at}: {wrong.reason}") from None
    scale = {"mm": 1.0, "cm": 10.0, "in": MM_PER_INCH}[traced.unit]
    points = [
        _traced_point(row, traced.file, heading=row is rows[0])
        for row in rows
        if not row.cells[0].lstrip().startswith("#")
    ]
    found = [point for point in points if point is not None]
    if len(found) < 3:
        raise Refusal(
            path, f"{shown_line(traced.file)} has {len(found)} points; a section needs three or more: across, radius."
        )
    table = np.array(found) * scale
    if np.abs(table).max() > MOST_MM:
        raise Refusal(path, f"{shown_line(traced.file)} has a point {np.abs(table).max():.3g} mm away. Check the unit.")
    return read_only(table)


MOST_TRACED = 20_000
"""Points of a traced section: a twentieth of a millimetre along a large tire's."""


def _traced_point(row: Row, file: str, *, heading: bool) -> tuple[float, float] | None:
    try:
        across, radius = (float(cell) for cell in row.cells)
        if math.isfinite(across) and math.isfinite(radius):
            return across, radius
    except ValueError:
        if heading:
            return None
    shown = quoted(",".join(row.cells))
    raise Refusal(
        ("tire", "shape", "file"),
        f"{shown_line(file)}, line {row.line}: {shown} is not two numbers, across and radius.",
    )
