"""The drawing of a laminated tire: its layers in section over the tire and rim that they stand for.

Outboard to the right, away from the axis up, the upper half alone. Millimetres.
"""

from __future__ import annotations

from clearance.gauge.flat import FlatGauge, Pattern
from clearance.gauge.flatwork import marks_of, polygon_of
from clearance.gauge.layers import LEAST_SAID_MM, End
from clearance.gauge.sheets import folded
from clearance.geom.drawing import (
    CENTRE,
    FOLD,
    OUTLINE,
    THIN,
    Dimension,
    Drawing,
    Mark,
    Text,
    chain,
    drawing_of,
    line,
    rectangle,
)
from clearance.mockup.mockup import MockUp
from clearance.units import both

_SHADES = (0.82, 0.93)


def stack_sheet(found: FlatGauge, mockup: MockUp) -> Drawing:
    """Every layer with its number, its bevel where one is marked, the tire's outline, and both ends as dimensions."""
    rings = {p.number: p for p in found.patterns}
    inner = mockup.wheel.barrel_mm / 2
    marks: list[Mark] = []
    for number in sorted(rings):
        marks += _layer(rings[number], inner)
    marks += marks_of(polygon_of(mockup.solid.profile), FOLD)
    low, high, top = found.layers[0].low_mm, found.layers[-1].high_mm, mockup.solid.profile.bounds[3]
    marks += [
        line((min(low, -20.0) - 15.0, 0.0), (max(high, 20.0) + 15.0, 0.0), CENTRE),
        line((0.0, -14.0), (0.0, top + 12.0), CENTRE),
        Text(at=(0.0, -24.0), text="hub face", height_mm=7.0, align="centre"),
        Text(at=(low, -44.0), text="INBOARD", height_mm=7.0, bold=True),
        Text(at=(high, -44.0), text="OUTBOARD >", height_mm=7.0, align="right", bold=True),
    ]
    for step, end in enumerate(found.ends):
        marks += _end(end, top, 14.0 + 16.0 * step)
    marks.append(Dimension(start=(low, top), end=(high, top), off_mm=46.0, text=_wide(found), height_mm=7.0))
    return drawing_of(marks)


def stack_words(found: FlatGauge, width_mm: float) -> list[str]:
    """Layers, how each side ends, what to know: lines no longer than the page."""
    letters = int(width_mm / 1.55)
    rows = [found.size, "", "LAYERS, FROM INBOARD TO OUTBOARD"]
    seen = {p.number: p for p in reversed(found.patterns)}
    for number in sorted(seen):
        part = seen[number]
        assert part.layer is not None
        said = ", ".join(part.label[3:]).lower()
        bevel = "" if part.bevel_mm is None else f"; bevel to the circle, {2 * part.bevel_mm:.1f} mm across"
        rows.append(f"  {number:>2}  {part.layer.low_mm:+.1f} to {part.layer.high_mm:+.1f} mm: {said}{bevel}")
    rows += ["", "KNOW"] + [f"  {n}" for n in found.notes]
    rows += ["", "Dashed red in the section: the tire and rim."]
    return [part for row in rows for part in folded(row, letters)]


def _wide(found: FlatGauge) -> str:
    return f"stack {both(found.layers[-1].high_mm - found.layers[0].low_mm)}"


def _layer(ring: Pattern, inner_mm: float) -> list[Mark]:
    """One layer above the axis, as a whole ring has it."""
    layer = ring.layer
    assert layer is not None
    inside, outside = ring.radii_mm
    marks: list[Mark] = [
        rectangle(layer.low_mm, inside, layer.thick_mm, outside - inside, OUTLINE, _SHADES[ring.number % 2]),
        Text(
            at=((layer.low_mm + layer.high_mm) / 2, max(inside, inner_mm) + 4.0),
            text=str(ring.number),
            height_mm=min(7.0, 0.6 * layer.thick_mm),
            align="centre",
        ),
    ]
    if ring.bevel_mm is not None:
        ends = (layer.low_mm, layer.high_mm) if ring.label[-1].startswith("IN") else (layer.high_mm, layer.low_mm)
        marks.append(chain([(ends[0], ring.bevel_mm), (ends[1], outside)], layer=THIN))
    return marks


def _end(end: End, top_mm: float, off_mm: float) -> list[Mark]:
    """From where the tire ends to where the stack ends, where the two differ; else how far it is from the hub face."""
    words = f"{end.side}: tire {end.tire_mm:+.1f}, stack {end.stack_mm:+.1f}"
    if end.short_mm >= LEAST_SAID_MM:
        words += f", {end.short_mm:.1f} SHORT"
    elif end.short_mm <= -LEAST_SAID_MM:
        words += f", {-end.short_mm:.1f} over"
    start, stop = sorted((0.0, end.stack_mm))
    return [Dimension(start=(start, top_mm), end=(stop, top_mm), off_mm=off_mm, text=words, height_mm=5.0)]
