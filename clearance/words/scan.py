"""What is in a scan, where it would stand, and the lines that put it into a corner file."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from clearance.description.placing import option_value, place_value
from clearance.description.writing import Sheet
from clearance.units import both
from clearance.well.scan_look import Look
from clearance.well.scan_place import sizes_by_unit


def described(found: Look, factor: float | None) -> list[str]:
    """What was found, in lines."""
    lines = [f"{found.name}   {found.file_format}, {'a mesh' if found.kind == 'mesh' else 'a cloud of points'}"]
    if found.kind == "mesh":
        lines += _mesh_lines(found, factor)
    else:
        middle, most, loneliest = found.point_spacing or (0.0, 0.0, 0.0)
        lines.append(f"  {found.vertices:,} points, {found.merged:,} of them twice")
        lines.append(
            f"  neighbours are {_long(middle, factor)} apart in the middle, 99 of 100 within {_long(most, factor)},"
            f" the loneliest {_long(loneliest, factor)}"
        )
    lines += [f"  {note}" for note in found.notes]
    lines += [f"  ! it looks cut short: {sign}" for sign in found.torn]
    lines += ["", *_size_lines(found, factor)]
    lines += ["", f"Up is perhaps {found.up}: {found.up_because}." if found.up else f"Up: {found.up_because}."]
    return lines


def _mesh_lines(found: Look, factor: float | None) -> list[str]:
    share = 100.0 / max(found.triangles, 1)
    lines = [
        f"  {found.vertices:,} vertices, {found.triangles:,} triangles, pieces that hang together: {found.pieces:,}",
        f"  {found.merged:,} vertices at the place of another, {found.duplicated:,} triangles given twice"
        f" ({share * found.duplicated:.1f} %), {found.degenerate:,} without area ({share * found.degenerate:.1f} %)",
    ]
    if found.closed:
        lines.append("  closed: the surface of a solid")
    else:
        hole = f", the longest {_long(found.largest_hole, factor)} round" if found.holes else ""
        lines.append(
            f"  open: {found.open_edges:,} open edges in {found.rims:,} rims; {found.holes:,} of them are holes{hole}"
        )
        lines.append(f"  {found.shared_edges:,} edges with more than two triangles")
    lines.append("  the largest pieces:")
    for piece in found.largest:
        size = " x ".join(_long(value, factor) for value in piece.size)
        at = ", ".join(f"{value:.4g}" for value in piece.at)
        lines.append(f"    {piece.triangles:>9,} triangles, {size}, at [{at}]")
    if found.pieces > len(found.largest):
        lines.append(f"    and {found.pieces - len(found.largest):,} smaller")
    return lines


def _long(value: float, factor: float | None) -> str:

    return f"{value:.4g}" if factor is None else both(value * factor)


def _size_lines(found: Look, factor: float | None) -> list[str]:
    import numpy as np

    if factor is not None:
        return [f"Its box: {' x '.join(both(value * factor) for value in found.size)} along x, y and z."]
    lines = ["Its box, along x, y and z, would be:", *(f"  {row}" for row in sizes_by_unit(np.array(found.size)))]
    if not found.units:
        return [*lines, "In no unit is it a wheel well or a car: measure a known distance in it and use --scale."]
    lines.append(
        f"A wheel well or a car may be so large in {' or '.join(found.units)}. The file does not say: state --unit,"
        " or --scale with a distance that you measured."
    )
    return lines


def placed_lines(stands: Mapping[str, Any]) -> list[str]:
    """Where it would stand, and what speaks against that; nothing of one that was not placed."""

    if not stands:
        return []
    reach = "; ".join(f"{name} {low:.0f} to {high:.0f}" for name, (low, high) in stands["reach_mm"].items())
    lines = ["", f"On the hub it reaches, in mm: {reach}."]
    span = stands["arch_span_mm"]
    lines.append(f"Metal ahead of the hub and behind it, at its height: {both(span)} apart." if span else
                 "There is no metal both ahead of the hub and behind it at its height, so no arch span.")  # fmt: skip
    lines.append(f"Placing is uncertain by {both(stands['placing_uncertainty_mm'])}; the scan itself adds its own.")
    lines += [f"  {note}" for note in stands["notes"]]
    tire = both(stands["judged_by_tire_mm"]) + ("" if stands["tire_stated"] else ", assumed; state --tire")
    if not stands["doubts"]:
        return [*lines, f"Nothing speaks against this place, judged by a tire of {tire}."]
    return [
        *lines,
        f"What speaks against this place, judged by a tire of {tire}:",
        *(f"  ! {row}" for row in stands["doubts"]),
    ]


def suggested(found: Look, mesh: Path, unit: str | None, scale: str | None, place: str | None) -> list[str]:
    """The lines for the corner file; what was not stated stays a comment that has to be answered."""
    sheet = Sheet().remark("Lines for the corner file:").gap().section("[[part]]")
    sheet.rows({"name": "scanned well", "kind": "mesh", "file": str(mesh)})
    if unit is not None:
        sheet.row("unit", unit)
    elif scale is None:
        guess = found.units[0] if len(found.units) == 1 else "..."
        sheet.remark(f'unit = "{guess}"   # not in the file: measure one thing in the scan, then take the # away')
    if scale is not None:
        sheet.row("scale", option_value(scale, "--scale"))
    if place is not None:
        sheet.row("place", place_value(place))
    else:
        up = f"+{found.up}" if found.up else "..."
        sheet.remark(
            f'place = {{ hub = [..., ..., ...], up = "{up}", ahead = "..." }}   # in the scan\'s own axes and unit'
        )
    if found.kind == "points":
        sheet.remark('radius = "..."   # of the ball that stands for each point')
    sheet.remark('remove = [{ name = "old wheel and brake", axle = { radius = "...", from = "...", to = "..." } }]')
    return sheet.text().splitlines()


def page(
    found: Look,
    factor: float | None,
    stands: Mapping[str, Any],
    mesh: Path,
    unit: str | None,
    scale: str | None,
    place: str | None,
) -> str:
    """What was found, where it would stand, and the lines for the corner file."""
    lines = [*described(found, factor), *placed_lines(stands), "", *suggested(found, mesh, unit, scale, place)]
    return "\n".join(lines)
