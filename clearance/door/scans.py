"""What is in a scan, and where it would stand on the hub."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from clearance.answers.checked import silent
from clearance.defaults import SCAN_TIRE_MM
from clearance.description.writing import Document
from clearance.door.answer import Answer
from clearance.door.questions import Progress
from clearance.errors import InputError, MeshError
from clearance.opener import text_of
from clearance.plain import echoed

if TYPE_CHECKING:
    from clearance.well.scan import PlacedScan
    from clearance.well.scan_look import Look
    from clearance.well.scan_read import RawMesh


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Scanned:
    """A scan looked at, and placed where it was said how."""

    raw: RawMesh
    look: Look
    mm_per_unit: float | None
    """None where neither a unit nor a distance was stated."""
    placed: PlacedScan | None
    stands: Mapping[str, Any]
    """Where it stands and what speaks against that; empty where it was not placed."""
    tire_mm: float


def scan(
    file: str | Path,
    *,
    unit: str | None = None,
    scale: str | None = None,
    place: str | None = None,
    side: str = "left",
    tire_mm: float | None = None,
    progress: Progress = silent,
) -> Answer[Scanned]:
    """What is in a mesh file: its pieces, holes and size in every unit, and the lines to put into a corner file.

    `scale` and `place` are written as in a corner file. With a unit (or a scale) and a place it is said where the scan
    would stand on the hub, judged by a tire of `tire_mm`. Raises MeshError.
    """
    from clearance.answers.scan_stands import stands_of
    from clearance.description.placing import place_of, scale_of
    from clearance.facts.scan import facts
    from clearance.well.scan import placed_scan
    from clearance.well.scan_look import look
    from clearance.well.scan_place import mm_per_unit
    from clearance.well.scan_read import read_mesh
    from clearance.words.scan import page

    progress(0, 3, "reading")
    raw = read_mesh(file)
    progress(1, 3, "looking")
    found = look(raw)
    progress(2, 3, "placing")
    measured = scale_of(scale)
    factor = None if unit is None and scale is None else mm_per_unit(unit, measured, raw.size)
    put = None
    if place is not None:
        put = placed_scan(raw, unit=unit, scale=measured, place=place_of(place), side=side)
    tire = _tire_mm(tire_mm)
    stands = {} if put is None else stands_of(put, tire, tire_mm is not None)
    return Answer(
        value=Scanned(raw=raw, look=found, mm_per_unit=factor, placed=put, stands=stands, tire_mm=tire),
        told=lambda: page(found, factor, stands, Path(file), unit, scale, place),
        plain=lambda: facts(found, factor, stands),
        listed="largest",
    )


def with_scan(
    corner_file: str | Path,
    file: str | Path,
    *,
    name: str,
    unit: str | None,
    scale: str | None,
    place: str,
    corner: str | None = None,
) -> bytes:
    """The text of a corner file with this scan as one more part of its well; nothing else in it moves.

    `scale` and `place` are written as in a corner file. Of a car file it is a part of this `corner`, and of those that
    are like it. What it then describes has been read once. Raises CornerFileError for what that cannot be, MeshError
    for what cannot be read, InputError for a name that is taken and for a corner that is not there or not named.
    """
    home = Path(corner_file)
    text = text_of(home)
    return text_with_scan(
        text, home, file, name=name, unit=unit, scale=scale, place=place, corner=corner_in(text, home, corner)
    ).encode()


def corner_in(text: str, home: Path, corner: str | None) -> str:
    """Which corner of a car file is meant, held against the file; of a corner file none, but its own may be named.

    Raises InputError.
    """
    from clearance.description.car import car_of_text

    there = Document(text).tables().get("corner")
    if not isinstance(there, Mapping):
        if corner not in (None, there):
            raise InputError(f"{home.name} is of {echoed(there)}, not of {echoed(corner)}.")
        return ""
    if corner is None:
        raise InputError(f"{home.name} is a car's: name the corner that the scan is of, --corner {next(iter(there))}.")
    car_of_text(text, home).at(corner)
    return corner


def text_with_scan(
    text: str,
    home: Path,
    file: str | Path,
    *,
    name: str,
    unit: str | None,
    scale: str | None,
    place: str,
    corner: str = "",
    more: Mapping[str, Any] | None = None,
) -> str:
    """A corner or car file's text with this scan in it, as `with_scan`; `more` has other keys of the part.

    Raises InputError for a name that is taken, CornerFileError for what cannot be.
    """
    from clearance.description.car import car_of_text, tables_of_corner
    from clearance.description.placing import option_value, place_value

    table = {"name": name, "kind": "mesh", "file": _beside(Path(file), home.parent)}
    table |= {} if unit is None else {"unit": unit}
    table |= {} if scale is None else {"scale": option_value(scale, "--scale")}
    # what a corner of a car says itself lies over what it is like: a part of the same name would be that part
    if corner and name in [part.get("name") for part in tables_of_corner(text, home, corner)[0].get("part", ())]:
        raise InputError(f"the name {echoed(name)} is taken by another part.")
    found = Document(text).with_part({**table, "place": place_value(place), **(more or {})}, corner).text
    car_of_text(found, home)
    return found


def _beside(file: Path, folder: Path) -> str:
    """How a corner file in that folder names a file: by its name where it lies beside it, else by its whole path."""
    whole = file.absolute()
    return whole.name if whole.parent == folder.absolute() else str(whole)


def _tire_mm(stated_mm: float | None) -> float:
    if stated_mm is None:
        return SCAN_TIRE_MM
    if not 200.0 <= stated_mm <= 2000.0:
        raise MeshError(f"a tire {stated_mm:g} mm across is none. Write the tire's overall diameter, such as '26 in'.")
    return stated_mm


def scan_picture(answer: Answer[Scanned], file: str | Path) -> bytes:
    """The scan from three sides with a grid, as the name of `file` says: PNG or SVG. Raises OutputError."""
    from clearance.export.scan_views import drawn

    seen = answer.value
    return drawn(seen.raw, seen.placed, seen.mm_per_unit, seen.look.up, seen.tire_mm, Path(file))
