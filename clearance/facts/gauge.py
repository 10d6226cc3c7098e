"""What was made, as facts."""

from __future__ import annotations

from typing import Any

from clearance.facts.shape import FILES, count, mm, of_corner, one_of, rows, several, table, text
from clearance.gauge.flat import FlatGauge, Pattern
from clearance.gauge.layers import LEAST_SAID_MM
from clearance.gauge.mock_gauge import Gauge


def printed(gauge: Gauge) -> dict[str, Any]:
    """What was made, as plain values."""
    return {
        "format": "clearance-gauge/1",
        "gauge": "printed",
        "title": gauge.title,
        "size": gauge.size,
        "bed_mm": [gauge.fit.making.bed.x_mm, gauge.fit.making.bed.y_mm, gauge.fit.making.bed.z_mm],
        "fit_mm": gauge.fit.making.fit_mm,
        "pieces": [
            {
                "number": p.number,
                "name": p.name,
                "count": p.count,
                "size": p.size,
                "extent_mm": [round(x, 1) for x in p.extent_mm],
            }
            for p in gauge.pieces
        ],
        "bill": [{"count": b.count, "what": b.what, "where": b.where} for b in gauge.bill],
        "warnings": list(gauge.warnings),
        "notes": list(gauge.notes),
    }


def laid_flat(found: FlatGauge) -> dict[str, Any]:
    """What was laid out, as plain values."""
    return {
        "format": "clearance-gauge/1",
        "gauge": "flat",
        "title": found.title,
        "size": found.size,
        "sheet_mm": [found.sheet.width_mm, found.sheet.height_mm, found.sheet.thickness_mm],
        "kerf_mm": found.sheet.kerf_mm,
        "sheets": len(found.sheets),
        "sheet_thickness_mm": list(found.stock_mm),
        "pieces": [
            {
                "number": p.number,
                "name": p.name,
                "count": 1,
                "size": _said_of(p),
                "extent_mm": [
                    round(high - low, 1) for low, high in zip(p.shape.bounds, p.shape.bounds[2:], strict=False)
                ],
            }
            for p in found.patterns
        ],
        "ends": [
            {
                "side": end.side,
                "tire_mm": round(end.tire_mm, 2),
                "stack_mm": round(end.stack_mm, 2),
                "short_mm": round(end.short_mm, 2),
            }
            for end in found.ends
        ],
        "proud_mm": round(found.proud_mm, 2),
        "bill": [],
        "warnings": [f"{end}." for end in found.ends if end.short_mm >= LEAST_SAID_MM],
        "notes": list(found.notes),
    }


def _said_of(part: Pattern) -> str:
    """Of a layer where it stands and what is done to it; of any other part its second line of writing."""
    if part.layer is None:
        return " ".join(part.label[1:2])
    _, station, _, *done = part.label
    return ", ".join((station, *done)).lower()


SHAPE = of_corner(
    "clearance-gauge/1",
    "a mock-up of the wheel and tire, to print or to cut",
    gauge=one_of("how it is made", "printed", "flat"),
    size=text("of tire and wheel, lengths in mm"),
    optional_bed_mm=several("printed: the printer's bed and height", mm("along one side"), 3),
    optional_fit_mm=mm("printed: left between two faces, per side"),
    optional_sheet_mm=several("flat: width, height and thickness of a sheet", mm("one of them"), 3),
    optional_kerf_mm=mm("flat: width of the cut"),
    optional_sheets=count("flat: how many sheets it takes"),
    optional_sheet_thickness_mm=rows("flat: of each of the sheets", mm("of one of them")),
    optional_ends=rows(
        "flat: how each side of a stack of rings ends",
        table(
            "one side",
            side=one_of("which", "inboard", "outboard"),
            tire_mm=mm("where the tire and wheel end, outboard of the hub face"),
            stack_mm=mm("where the stack ends, outboard of the hub face"),
            short_mm=mm("by how much the stack is narrower there; negative where it is wider"),
        ),
    ),
    optional_proud_mm=mm("flat: how far the steps of a stack stand out from the tire"),
    pieces=rows(
        "what it is made of",
        table(
            "one piece",
            number=count("on the drawing"),
            name=text("what it is"),
            count=count("how many"),
            size=text("what is written on it"),
            extent_mm=rows("of the box around it", mm("along one side")),
        ),
    ),
    bill=rows(
        "what to buy",
        table("one row", count=count("how many"), what=text("the thing"), where=text("what it is for")),
    ),
    notes=rows("what to know when it is used", text("one of them")),
    files=FILES,
)
