"""What was made, as facts."""

from __future__ import annotations

from typing import Any

from clearance.facts.shape import FILES, count, mm, of_corner, one_of, rows, several, table, text
from clearance.gauge.flat import FlatGauge
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
        "pieces": [
            {
                "number": p.number,
                "name": p.name,
                "count": 1,
                "size": " ".join(p.label[1:2]),
                "extent_mm": [
                    round(high - low, 1) for low, high in zip(p.shape.bounds, p.shape.bounds[2:], strict=False)
                ],
            }
            for p in found.patterns
        ],
        "bill": [],
        "warnings": [],
        "notes": list(found.notes),
    }


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
