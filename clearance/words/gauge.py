"""What to print or cut, and what to buy."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from clearance.gauge.mock_gauge import CAUTIONS


def page(said: Mapping[str, Any], out: Path) -> Sequence[str]:
    """What to print or cut, and what to buy."""

    rows = [said["title"], said["size"], "", *(f"warning: {w}" for w in said["warnings"])]
    for p in said["pieces"]:
        extent = " x ".join(f"{x:.0f}" for x in p["extent_mm"])
        rows.append(f"  {p['number']:>2}  {p['count']} x {p['name']}, {extent} mm   {p['size']}")
    if said["bill"]:
        rows += ["", "to buy"] + [f"  {b['count']:>3} x {b['what']}: {b['where']}" for b in said["bill"]]
    if "sheets" in said:
        rows += ["", f"on {_counted(said['sheets'], 'sheet')}"]
    if "bed_mm" in said:
        plates = sum(name.startswith("gauge-plate-") for name in said["files"])
        bed = " x ".join(f"{x:g}" for x in said["bed_mm"])
        rows += ["", f"on {_counted(plates, 'plate')} for a bed of {bed} mm: gauge-plate-1.3mf and so on"]
    rows += ["", *said["notes"], "", *CAUTIONS, ""]
    rows.append(f"{len(said['files'])} files in {out}")
    return rows


def _counted(count: int, what: str) -> str:
    return f"{count} {what}" if count == 1 else f"{count} {what}s"
