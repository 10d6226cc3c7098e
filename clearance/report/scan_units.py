"""A scan as large as it would be in one unit, beside a tire at true size: what a wrong unit looks like."""

from __future__ import annotations

import numpy as np

from clearance.export.svg import picture
from clearance.geom.drawing import PART, THIN, Circle, Drawing, Path
from clearance.geom.profile import Line
from clearance.pose import Array

_DOTS = 300
_WIDE = 100.0
"""Of the picture, in its own mm."""


def beside_tire(vertices_mm: Array, tire_mm: float, unit: str) -> str:
    """The scan's vertices (n, 3) along its two longest sides, and the tire beside it, both to one scale."""
    size = np.ptp(vertices_mm, axis=0)
    along, other = (int(k) for k in np.argsort(-size)[:2])
    chosen = vertices_mm[:: max(1, len(vertices_mm) // _DOTS)]
    wide, high = float(size[along]), float(size[other])
    scale = _WIDE / (wide + 1.25 * tire_mm)
    low = vertices_mm.min(axis=0)
    spots = np.stack([chosen[:, along] - low[along], chosen[:, other] - low[other]], axis=1) * scale
    tire = tire_mm / 2.0 * scale
    middle = (wide * scale + 0.25 * tire_mm * scale + tire, high * scale / 2.0)
    marks = tuple(Circle(centre=(float(x), float(y)), radius_mm=0.25, layer=THIN) for x, y in spots)
    box = _box(wide * scale, high * scale)
    rings = (
        Circle(centre=middle, radius_mm=tire, layer=PART, shade=0.75),
        Circle(centre=middle, radius_mm=0.6 * tire, layer=THIN),
    )
    words = f"The scan in {unit} beside a tire {tire_mm:.0f} mm across, to one scale"
    return picture(Drawing(marks=(*rings, box, *marks)), title=words, description="")


def _box(wide: float, high: float) -> Path:
    corners = [(0.0, 0.0), (wide, 0.0), (wide, high), (0.0, high)]
    return Path(elements=tuple(Line(start=a, end=b) for a, b in zip(corners, [*corners[1:], corners[0]], strict=True)))
