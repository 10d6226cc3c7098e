"""The place and the scale of a scan as an option writes them: the tables of a corner file, read by what reads those."""

from __future__ import annotations

from pathlib import Path as FilePath
from typing import TYPE_CHECKING, Any

from clearance import opener
from clearance.description.lines import path_text
from clearance.description.parts.mesh import PlaceTable, ScaleTable, place_for, refuse_place, scale_for
from clearance.description.parts.part import Surroundings
from clearance.description.reading import read
from clearance.description.refusal import Refusal
from clearance.errors import MeshError
from clearance.plain import echoed

if TYPE_CHECKING:
    from clearance.well.scan_place import Place, Scale

CORNER_AXES = "corner axes"
_NOWHERE = Surroundings(reach_mm=0.0, frames=(), side="left", folder=FilePath())
"""A scan that is only looked at stands around no corner yet."""


def is_corner_axes(text: str) -> bool:
    """Whether an option says that a scan is in corner axes already."""
    return text.strip().strip("\"'") == CORNER_AXES


def place_value(text: str, option: str = "--place") -> Any:
    """A place as a corner file has it. Raises MeshError where it cannot be read."""
    return CORNER_AXES if is_corner_axes(text) else option_value(text, option)


def place_of(text: str, option: str = "--place") -> Place:
    """A place on the hub. Raises MeshError that names the option and the key."""
    if is_corner_axes(text):
        return place_for(None, _NOWHERE)
    try:
        table = read(PlaceTable, option_value(text, option), ())
        refuse_place(table, _NOWHERE, ())
        return place_for(table, _NOWHERE)
    except Refusal as wrong:
        raise _said(wrong, option) from None


def scale_of(text: str | None, option: str = "--scale") -> Scale | None:
    """A measured distance; None where none is given. Raises MeshError that names the option and the key."""
    if text is None:
        return None
    try:
        return scale_for(read(ScaleTable, option_value(text, option), ()))
    except Refusal as wrong:
        raise _said(wrong, option) from None


def _said(wrong: Refusal, option: str) -> MeshError:
    key = path_text(wrong.path) if wrong.path else ""
    return MeshError(f"{option}{f' {key}' if key else ''}: {wrong.message}")


def option_value(text: str, option: str) -> Any:
    """The value of an option that is written as in a corner file. Raises MeshError where it cannot be read."""
    try:
        tables = opener.toml_tables(f"value = {text}")
    except opener.NotToml:
        tables = {}
    if set(tables) != {"value"}:
        raise MeshError(
            f"{option} {echoed(text)} cannot be read. Write it as in a corner file, in quotes for the shell:"
            f' {option} \'{{ hub = [1.388, 0.798, 0.13], up = "+z", ahead = "+x" }}\'.'
        )
    return tables["value"]
