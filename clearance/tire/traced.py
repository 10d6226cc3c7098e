"""A section traced from a real tire: with a profile gauge, a cut cardboard, or a scan.

Points are (across, radius) in millimetres: across from the tire's centre plane, radius from the spin axis. A trace is

* half  - everything on one side of the centre plane, from the tread's middle to the bead or back; its mirror image is
          added
* whole - from bead to bead over the tread, or all the way round

A trace is checked and never scaled, shifted or smoothed; only points that lie within SAME_LINE_MM of a straight line
between their neighbours are left out.
"""

from __future__ import annotations

import math
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from clearance.errors import TireError
from clearance.geom.profile import Element, Line
from clearance.pose import read_only
from clearance.tire.tire import Tire
from clearance.units import both

if TYPE_CHECKING:
    from shapely.geometry import Polygon

Array = npt.NDArray[np.float64]

SAME_LINE_MM = 0.005
"""A tenth of the default tolerance of a gap."""
ON_CENTRE_MM = 0.5
"""A half section may start this far over the centre plane."""
OFF_CENTRE_MM = 5.0
"""A whole section may lie this far to one side."""


def whole_section(points_mm: npt.ArrayLike) -> Array:
    """The closed outline (n, 2) of a trace, counter-clockwise, the first point not repeated, half sections completed.

    Raises TireError where the trace crosses itself, lies off centre, or is no section.
    """
    points = np.asarray(points_mm, dtype=float)
    _check_points(points)
    if math.dist(points[0], points[-1]) < 1e-6:
        points = points[:-1]
    one_sided = points[:, 0].min() > -ON_CENTRE_MM or points[:, 0].max() < ON_CENTRE_MM
    if one_sided:
        points = _completed(points)
    polygon = _polygon(points)
    _check_centred(polygon)
    return read_only(np.array(polygon.simplify(SAME_LINE_MM).exterior.coords)[:-1])


def overall_diameter_of(ring: Array) -> float:
    """Twice the greatest radius."""
    return 2 * float(ring[:, 1].max())


def section_width_of(ring: Array) -> float:
    """Side wall to side wall."""
    return float(np.ptp(ring[:, 0]))


def traced_outline(tire: Tire, flange_radius_mm: float) -> tuple[Element, ...]:
    """The chain of a traced tire above its rim flanges, from the outer foot over the tread to the inner foot.

    Growth and chain room stretch it: across about the centre plane, upward from the rim. Raises TireError where the
    trace does not stand out of the rim.
    """
    ring = _grown(tire)
    if tire.overall_diameter_mm / 2 < flange_radius_mm + 3.0:
        raise TireError(
            f"the traced section reaches a radius of {both(tire.overall_diameter_mm / 2)}, but the rim's flanges"
            f" stand at {both(flange_radius_mm)}. Radii are measured from the wheel's centre, not from the rim."
        )
    return _labelled(_above(ring, flange_radius_mm), tire)


def _check_points(points: Array) -> None:
    if points.ndim != 2 or points.shape[1] != 2 or len(points) < 4:
        raise TireError("a traced section needs at least four points, each across and radius.")
    if not np.all(np.isfinite(points)):
        raise TireError("the traced section has a coordinate that is not a number.")
    if points[:, 1].min() < 0:
        raise TireError("the traced section has a negative radius. Radii are measured from the wheel's centre.")


def _completed(points: Array) -> Array:
    """A half section with its mirror image, from bead over the tread to the other bead."""
    side = 1.0 if points[:, 0].max() > -points[:, 0].min() else -1.0
    half = points * np.array([side, 1.0])
    top = int(np.argmax(half[:, 1]))
    if top > len(half) - 1 - top:
        half = half[::-1]
    if half[0, 0] > 10 * ON_CENTRE_MM:
        raise TireError(
            f"half a section must start at the middle of the tread; this one starts {both(float(half[0, 0]))} from it."
            " Add the point at across 0."
        )
    half = half[half[:, 0] > ON_CENTRE_MM]
    crown = [[0.0, float(points[:, 1].max())]]
    return np.concatenate([half[::-1], crown, half * np.array([-1.0, 1.0])])


def _polygon(points: Array) -> Polygon:
    from shapely.geometry import LineString, Polygon
    from shapely.geometry.polygon import orient
    from shapely.validation import explain_validity

    if not LineString(points).is_simple or not Polygon(points).is_valid:
        place = explain_validity(Polygon(points)).partition("[")[2].rstrip("]")
        at = " and ".join(f"{float(v):.1f}" for v in place.split()[:2])
        raise TireError(
            f"the traced section crosses itself{f' near across and radius {at} mm' if at else ''}."
            " Put the points in order along the outline."
        )
    return orient(Polygon(points))


def _check_centred(polygon: Polygon) -> None:
    low, _, high, _ = polygon.bounds
    if abs(low + high) / 2 > OFF_CENTRE_MM:
        raise TireError(
            f"the traced section lies from {both(low)} to {both(high)} across: {both((low + high) / 2)} off centre."
            " Measure across from the tire's centre plane; a trace is never shifted for you."
        )


def _grown(tire: Tire) -> Array:
    ring = np.array(tire.traced)
    wider = tire.full_width_mm / tire.section_width_mm
    rim_mm = tire.rim_radius_mm
    taller = (tire.full_diameter_mm / 2 - rim_mm) / (tire.overall_diameter_mm / 2 - rim_mm)
    ring[:, 0] *= wider
    above = ring[:, 1] > rim_mm
    ring[above, 1] = rim_mm + (ring[above, 1] - rim_mm) * taller
    return ring


def _above(ring: Array, floor_mm: float) -> Array:
    """(n, 2) from the outer foot over the tread to the inner foot: the section over a floor, hollows filled."""
    from shapely.geometry import MultiPolygon, Polygon, box
    from shapely.geometry.polygon import orient

    section = Polygon(ring)
    section = section.union(_below(ring, floor_mm))
    over = section.intersection(box(ring[:, 0].min() - 1, floor_mm, ring[:, 0].max() + 1, ring[:, 1].max() + 1))
    low, _, high, _ = over.intersection(box(-1e4, floor_mm - 1, 1e4, floor_mm + 1e-6)).bounds
    # a strip between the feet turns the hollow inside of the carcass into a hole, and holes are dropped
    over = over.union(box(low, floor_mm, high, floor_mm + 1e-3))
    if isinstance(over, MultiPolygon):
        over = max(over.geoms, key=lambda part: part.area)
    ring = np.array(orient(Polygon(over.exterior)).exterior.coords)[:-1]
    bottom = np.flatnonzero(ring[:, 1] < floor_mm + 1e-6)
    start, end = bottom[np.argmax(ring[bottom, 0])], bottom[np.argmin(ring[bottom, 0])]
    count = (end - start) % len(ring)
    chain: Array = ring[(start + np.arange(count + 1)) % len(ring)]
    chain[0, 1] = chain[-1, 1] = floor_mm
    apart = np.hypot(*np.diff(chain, axis=0).T) > 2e-3
    kept: Array = chain[np.append(True, apart)]
    return kept


def _below(ring: Array, floor_mm: float) -> Polygon:
    """What closes a trace that stops above the flange: straight down from its lowest point on either side."""
    from shapely.geometry import Polygon

    outer, inner = ring[ring[:, 0] > 0], ring[ring[:, 0] < 0]
    out, in_ = outer[np.argmin(outer[:, 1])], inner[np.argmin(inner[:, 1])]
    under = min(floor_mm, float(out[1]), float(in_[1])) - 1.0
    # a micrometre of overlap, so that a corner that only touches is joined
    return Polygon([(in_[0], under), (out[0], under), tuple(out), tuple(in_)]).buffer(1e-3, join_style="mitre")


def _labelled(chain: Array, tire: Tire) -> tuple[Element, ...]:
    crown_mm = float(chain[:, 1].max())
    # the lowest of the widest points: above it a sidewall, below it a lower sidewall
    widest_mm = float(chain[np.argmax(np.abs(chain[:, 0])), 1])
    tread_mm = tire.tread_width_mm / 2 * tire.full_width_mm / tire.section_width_mm
    shoulder_mm = crown_mm - 0.4 * (crown_mm - widest_mm)
    elements: list[Element] = []
    for start, end in pairwise(chain):
        across, radius = (start + end) / 2
        side = "outer" if across > 0 else "inner"
        if radius < widest_mm:
            label = f"{side} lower sidewall"
        elif abs(across) <= tread_mm and radius > shoulder_mm:
            label = "tread"
        else:
            label = f"{side} shoulder" if radius > shoulder_mm else f"{side} sidewall"
        elements.append(Line(start=(float(start[0]), float(start[1])), end=(float(end[0]), float(end[1])), label=label))
    return tuple(elements)
