"""What is in a scan, as facts."""

from __future__ import annotations

import dataclasses
from typing import Any

from clearance.well.scan_look import Look
from clearance.well.scan_place import UNIT_MM


def facts(found: Look, factor: float | None, stands: dict[str, Any]) -> dict[str, Any]:
    """What was found, as JSON has it."""

    table: dict[str, Any] = {"format": "clearance-scan/1", **dataclasses.asdict(found)}
    table["closed"] = found.closed
    table["size_mm"] = {unit: [round(value * mm, 4) for value in found.size] for unit, mm in UNIT_MM.items()}
    table["mm_per_unit"] = factor
    if stands:
        table["placed"] = stands
    return table
