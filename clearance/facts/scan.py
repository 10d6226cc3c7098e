"""What is in a scan, as facts."""

from __future__ import annotations

import dataclasses
from typing import Any

from clearance.facts.shape import (
    Shape,
    answer,
    count,
    ends,
    flag,
    maybe,
    mm,
    named,
    number,
    one_of,
    rows,
    several,
    table,
    text,
)
from clearance.units import MESH_UNITS
from clearance.well.scan_look import Look


def facts(found: Look, factor: float | None, stands: dict[str, Any]) -> dict[str, Any]:
    """What was found, as JSON has it."""

    table: dict[str, Any] = {"format": "clearance-scan/1", **dataclasses.asdict(found)}
    table["closed"] = found.closed
    table["size_mm"] = {unit: [round(value * mm, 4) for value in found.size] for unit, mm in MESH_UNITS.items()}
    table["mm_per_unit"] = factor
    if stands:
        table["placed"] = stands
    return table


def _own(words: str) -> Shape:
    return number(f"{words}, in the scan's own unit")


SHAPE = answer(
    "clearance-scan/1",
    "what is in a mesh file, and where it stands on the hub",
    name=text("of the file"),
    file_format=text("of the file"),
    kind=one_of("what it holds", "mesh", "points"),
    vertices=count("vertices, or points"),
    triangles=count("triangles"),
    merged=count("vertices at the place of another"),
    degenerate=count("triangles without area"),
    duplicated=count("triangles given twice"),
    pieces=count("pieces that hang together"),
    largest=rows(
        "the largest pieces",
        table(
            "one piece",
            triangles=count("triangles"),
            size=several("of its box along x, y and z", _own("along one axis"), 3),
            at=several("a point of it", _own("along one axis"), 3),
        ),
    ),
    open_edges=count("edges with one triangle"),
    rims=count("chains of open edges"),
    holes=count("rims that are holes"),
    largest_hole=_own("round the longest hole"),
    shared_edges=count("edges with more than two triangles"),
    coloured=flag("whether it has colours"),
    low=several("least x, y and z", _own("along one axis"), 3),
    size=several("of its box along x, y and z", _own("along one axis"), 3),
    units=rows("in which a wheel well or a car may have this size", text("mm, cm, m, in or ft")),
    up=one_of("the axis that is likely to be up; empty where there is no saying", "x", "y", "z", ""),
    up_because=text("why"),
    point_spacing=maybe(
        several("how far points are apart: in the middle, 99 of 100, at most", _own("one of them"), 3), "of a mesh"
    ),
    notes=rows("what was found in it", text("one of them")),
    torn=rows("signs that the file is not whole", text("one of them")),
    closed=flag("whether it is the surface of a solid"),
    size_mm=named("unit: its box, were it in that unit", several("x, y and z", mm("along one axis"), 3)),
    mm_per_unit=maybe(number("mm to one of its own units"), "where neither a unit nor a distance was stated"),
    optional_placed=table(
        "where it stands on the hub, as it was placed",
        reach_mm=table(
            "from and to, from the hub face's centre",
            ahead=ends("ahead", mm("along that axis")),
            outboard=ends("outboard", mm("along that axis")),
            above=ends("above", mm("along that axis")),
        ),
        arch_span_mm=maybe(mm("from the metal ahead to that behind, at the hub's height"), "where there is none"),
        placing_uncertainty_mm=mm("of the place; the scan's own comes on top"),
        notes=rows("how it was placed", text("one of them, lengths in mm")),
        judged_by_tire_mm=mm("diameter of the tire that the place was judged by"),
        tire_stated=flag("whether that was stated"),
        doubts=rows("what speaks against this place", text("one of them, lengths in mm")),
    ),
)
