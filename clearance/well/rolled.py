"""A rolled lip: its return flange turned up about the arch's edge until it lies against the body side.

The edge stays where it is; what reached inboard of it turns away from the tire. What rolling gains is how much less the
flange then reaches inboard: at most its reach less the two sheets that lie on each other in the end. A lip without a
return gains nothing. This is the one model of it, for whoever asks how far a lip goes.

Lengths are millimetres, in corner axes.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from clearance.pose import Array, read_only
from clearance.well.part import Part

SHEET_MM = 1.0
"""Of one sheet of a body side, where the part states no thickness: 0.7 to 1.0 mm (common practice)."""
_UPRIGHT = 1e-9
_STRAIGHT_MM = 1e-3
"""An arch that bulges by less than this on the average is straight."""


def folded_mm(part: Part) -> float:
    """What still reaches inboard of the edge once the flange lies flat: two sheets."""
    return 2.0 * (part.thickness_mm or SHEET_MM)


def reach_mm(part: Part) -> float:
    """How far the flange reaches inboard of its edge."""
    return float(np.ptp(part.triangles_mm[..., 1]))


def rolling_gains_mm(part: Part, most_mm: float) -> float:
    """The most that rolling this lip gains, where no roll gains more than `most_mm`."""
    if part.kind != "lip":
        return 0.0
    return max(0.0, min(most_mm, reach_mm(part) - folded_mm(part)))


def rolled(part: Part, gain_mm: float) -> Part:
    """The lip with its flange turned up so far that it reaches `gain_mm` less inboard."""
    reach = reach_mm(part)
    if gain_mm <= 0.0 or reach <= 0.0:
        return part
    left = max(0.0, 1.0 - gain_mm / reach)
    corners = part.triangles_mm
    edge = float(corners[..., 1].max())
    inboard = edge - corners[..., 1]
    rise = inboard * math.sqrt(1.0 - left * left)
    moved = corners + rise[..., None] * _away(corners)[:, None, :]
    moved[..., 1] = edge - inboard * left
    return replace(part, triangles_mm=read_only(moved))


def turned_mm(part: Part, gain_mm: float) -> float:
    """How far the flange's end goes round its edge for a gain: no point of the lip moves further."""
    reach = reach_mm(part)
    return 0.0 if reach <= 0.0 else reach * math.acos(max(0.0, 1.0 - gain_mm / reach))


def _away(corners: Array) -> Array:
    """(n, 3): square to the arch at each triangle (n, 3, 3), in the side view, away from what the arch goes round."""
    square = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    square[:, 1] = 0.0
    size = np.linalg.norm(square, axis=1, keepdims=True)
    square = np.where(size > _UPRIGHT, square / np.maximum(size, _UPRIGHT), (0.0, 0.0, 1.0))
    # all are wound alike, so one sign is that of all: away is where the arch bulges, or up where it is straight
    middle = corners.mean(axis=1)
    bulge = float(np.einsum("ij,ij->", square, middle - middle.mean(axis=0)))
    flat = abs(bulge) < len(square) * _STRAIGHT_MM
    away: Array = -square if (float(square[:, 2].sum()) if flat else bulge) < 0.0 else square
    return away
