"""Signs that a scan stands in the wrong place: each doubt is one sentence that says what to check.

Everything is in corner axes, mm, at ride height. A doubt never changes an answer; it stands beside it, and it comes
first: a map of where the tire "rubs" on a well that was placed wrong is worse than none.

* near metal - what of a part lies within one and a half tire radii of the hub, and can matter at all
* arch span  - how far apart the metal ahead of the tire and behind it is, at the height of the hub; 0.5 to 1.2 m on
  anything with a wheel of 10 to 24 inches (common practice)
* touch      - the tire is inside the scan as the car stands. A wider tire may really touch, so that alone speaks
  against nothing: what is said is where, by how much, and how to tell
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from clearance.pose import Array
from clearance.units import both
from clearance.well.blocks import in_blocks
from clearance.well.part import Part
from clearance.well.scan_decimate import quartered

if TYPE_CHECKING:
    from clearance.well.scan_clean import Mask

ARCH_SPAN_MM = (500.0, 1200.0)
OFF_MIDDLE_MM = 35.0
"""Wheels stand within 20 mm of the middle of their arch on public bodies; this far off, the hub point was missed."""
TOO_DEEP_MM = 60.0
"""Nobody bolts on a tire that is so much too large: the hub point, the unit, the side or the offset is wrong."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Touch:
    """Where the tire already touches a scan at ride height, straight ahead."""

    depth_mm: float
    """How deep; more than zero."""
    on_part_mm: Array
    """(3,): the place on the scan."""
    toward_part: Array
    """(3,): which way the scan would have to be moved to be clear of the tire."""
    freed: bool
    """Whether it is clear all over once it is moved so far; else the tire is too large for it wherever it stands."""


def doubts(part: Part, *, tire_radius_mm: float, touch: Touch | None = None) -> tuple[str, ...]:
    """What speaks against the place of a scanned part; nothing for parts of another kind."""
    if part.kind != "mesh":
        return ()
    found = (
        "" if touch is None else touching_at_ride(part.name, touch, part.uncertainty_mm),
        *doubts_of_place(part.name, part.triangles_mm, tire_radius_mm=tire_radius_mm),
    )
    return tuple(doubt for doubt in found if doubt)


def touching_at_ride(name: str, touch: Touch, uncertainty_mm: float = 0.0) -> str:
    """What it means that the tire is already inside a scan at ride height, and how to tell.

    A larger tire may really touch; so the scan is blamed only where no tire is so much too large.
    """
    deep = f"{name}: already touching at ride height, by {both(touch.depth_mm)}, {_place(touch.on_part_mm)}"
    if touch.depth_mm > TOO_DEEP_MM:
        return (
            f"{deep}. No car stands on its wheels like that: check where the mesh was placed. The hub point, the"
            " side or the unit is wrong, or the wheel's offset, or an old tire, hub or brake was scanned with it and"
            " must be removed."
        )
    if touch.depth_mm <= uncertainty_mm:
        return (
            f"{deep}. That is no more than the {uncertainty_mm:.0f} mm to which the scan is sure of itself: it says"
            " neither that they touch nor that they do not. Measure there by hand."
        )
    if not touch.freed:
        return (
            f"{deep}. Moved clear of that, it would touch elsewhere: the tire or the wheel is too large for this well,"
            " wherever in it the scan stands."
        )
    return (
        f"{deep}. Either this tire and wheel really touch there, or the scan stands {both(touch.depth_mm)} too far"
        f" {_way(-touch.toward_part)}. To tell, hold a tape to the car: by the scan that place is as far from the"
        " hub's face and from the axle as said. Something that was scanned and will not be there, as an old tire, is"
        " to be removed."
    )


def touching_part(name: str, touch: Touch) -> str:
    """What it means that the tire is already inside a part that was described by tape."""
    return (
        f"{name}: already touching at ride height, by {both(touch.depth_mm)}, {_place(touch.on_part_mm)}. Either"
        " this tire and wheel really touch there, or one of its numbers has slipped, a sign or a unit. Hold a tape."
    )


_AXES = (("ahead of", "behind"), ("outboard of", "inboard of"), ("above", "below"))


def _place(point_mm: Array) -> str:
    along, across, up = (float(number) for number in point_mm)
    return (
        f"{both(abs(across))} {_AXES[1][across < 0]} the hub's face, {both(abs(along))} {_AXES[0][along < 0]} the"
        f" axle and {both(abs(up))} {_AXES[2][up < 0]} it"
    )


def _way(direction: Array) -> str:
    """The direction as the one word that says most of it."""
    axis = int(np.argmax(np.abs(direction)))
    words = (("ahead", "back"), ("outboard", "inboard"), ("up", "down"))
    return words[axis][bool(direction[axis] < 0.0)]


def doubts_of_place(name: str, triangles_mm: Array, *, tire_radius_mm: float) -> tuple[str, ...]:
    """The doubts that need no gap: from the triangles (n, 3, 3) of a part."""
    nothing = hub_outside(name, triangles_mm.reshape(-1, 3), tire_radius_mm)
    if nothing:
        return (nothing,)
    near = near_metal(triangles_mm, tire_radius_mm)
    rest = (
        wrong_side(name, near, tire_radius_mm),
        upside_down(name, near),
        odd_arch(name, near, tire_radius_mm),
        off_middle(name, near, tire_radius_mm),
    )
    return tuple(doubt for doubt in rest if doubt)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Near:
    """Metal within the tire's reach: spots on it, and the area that each one stands for."""

    spots_mm: Array
    area_mm2: Array

    def area(self, which: Mask) -> float:
        """The area of the chosen spots, mm2."""
        return float(self.area_mm2[which].sum())


def near_metal(triangles_mm: Array, tire_radius_mm: float) -> Near:
    """What lies within one and a half tire radii of the hub each way, as spots no further apart than a tenth of it.

    A point of a cloud counts as a square of a hundredth of the radius.
    """
    reach, pitch = 1.5 * tire_radius_mm, 0.15 * tire_radius_mm
    pieces, spots, areas = triangles_mm, [np.empty((0, 3))], [np.empty(0)]
    for _ in range(12):
        large = [np.empty((0, 3, 3))]
        for some in in_blocks(len(pieces)):
            own = _within(pieces[some], reach)
            sides = np.sqrt(((own - np.roll(own, 1, axis=1)) ** 2).sum(axis=2)).max(axis=1, initial=0.0)
            fine = sides <= pitch
            spots.append(own[fine].mean(axis=1))
            area = np.cross(own[fine, 1] - own[fine, 0], own[fine, 2] - own[fine, 0])
            areas.append(np.maximum(np.sqrt((area**2).sum(axis=1)) / 2.0, (0.01 * tire_radius_mm) ** 2))
            large.append(own[~fine])
        pieces = quartered(np.concatenate(large))
        if not len(pieces):
            break
    points, area_mm2 = np.concatenate(spots), np.concatenate(areas)
    inside = (np.abs(points) <= reach).all(axis=1)
    return Near(spots_mm=points[inside], area_mm2=area_mm2[inside])


def _within(triangles_mm: Array, reach_mm: float) -> Array:
    low, high = triangles_mm.min(axis=1), triangles_mm.max(axis=1)
    kept: Array = triangles_mm[((low <= reach_mm) & (high >= -reach_mm)).all(axis=1)]
    return kept


def hub_outside(name: str, points_mm: Array, tire_radius_mm: float) -> str:
    """The doubt where the scan does not surround the hub: nothing of it within reach, or all of it off to one side."""
    low, high = points_mm.min(axis=0), points_mm.max(axis=0)
    largest = float((high - low).max())
    if largest < tire_radius_mm / 2.0:
        return (
            f"{name}: the whole scan is only {both(largest)} large, less than the tire's radius."
            " The unit is wrong, or it is not a wheel well."
        )
    away = float(np.sqrt((np.maximum(np.maximum(low, -high), 0.0) ** 2).sum()))
    for way, words in enumerate(_AXES):
        if low[way] > 2.0 * tire_radius_mm or high[way] < -2.0 * tire_radius_mm:
            word = words[0] if low[way] > 0.0 else words[1]
            return (
                f"{name}: the hub stands outside the mesh, {away / 1000:.1f} m from it: all of it is {word} the tire."
                " Check the hub point, the unit and the directions."
            )
    if high[1] > max(1000.0, -2.0 * low[1]):
        return (
            f"{name}: the scan reaches {high[1] / 1000:.1f} m outboard of the hub and only"
            f" {max(-low[1], 0) / 1000:.1f} m inboard: the car lies on the wrong side of its wheel."
            " Check outboard and which side was scanned."
        )
    return ""


def wrong_side(name: str, near: Near, tire_radius_mm: float) -> str:
    """The doubt where the wheel's open face looks at metal and its back looks at none, as on the other side's well."""
    # a fender or a skirt may hang over the top of the wheel: only what is before its middle counts
    seen = np.hypot(near.spots_mm[:, 0], near.spots_mm[:, 2]) < 0.8 * tire_radius_mm
    outboard = near.area(seen & (near.spots_mm[:, 1] > 0.0))
    inboard = near.area(seen & (near.spots_mm[:, 1] < 0.0))
    disc = np.pi * (0.8 * tire_radius_mm) ** 2
    if outboard < 0.25 * disc or outboard < 2.0 * inboard:
        return ""
    return (
        f"{name}: the outer face of the wheel looks at {outboard / 1e6:.2f} m2 of metal and its back at"
        f" {inboard / 1e6:.2f} m2. The well is on the wrong side: check outboard and which side was scanned;"
        " a scan of the other side needs to be mirrored."
    )


def upside_down(name: str, near: Near) -> str:
    """The doubt where most of the near metal lies below the hub."""
    total = near.area(np.ones(len(near.spots_mm), dtype=bool))
    below = near.area(near.spots_mm[:, 2] < 0.0)
    if not total or below < 0.75 * total:
        return ""
    return (
        f"{name}: {100 * below / total:.0f} % of the metal near the tire is below the hub."
        " Check which way is up, and the hub point."
    )


def arch_ends_mm(near: Near, tire_radius_mm: float) -> tuple[float, float] | None:
    """How far ahead of the hub, and behind it, the nearest metal is at its height, clear of brakes and axle.

    None where there is no metal on both sides, as on an arch that ends above the hub.
    """
    x, y, z = near.spots_mm.T
    # the inner wall stands right across behind the wheel: only the outer strip has an opening to measure
    strip = (y > -0.25 * tire_radius_mm) & (y < 0.6 * tire_radius_mm)
    level = strip & (np.abs(z) < 0.35 * tire_radius_mm) & (np.abs(x) > 0.5 * tire_radius_mm)
    ahead, behind = x[level & (x > 0.0)], x[level & (x < 0.0)]
    if not len(ahead) or not len(behind):
        return None
    return float(ahead.min()), float(-behind.max())


def arch_span_mm(near: Near, tire_radius_mm: float) -> float | None:
    """From the nearest metal ahead of the hub to the nearest behind it, at its height; None where there is none."""
    ends = arch_ends_mm(near, tire_radius_mm)
    return None if ends is None else sum(ends)


def odd_arch(name: str, near: Near, tire_radius_mm: float) -> str:
    """The doubt where the arch span is not that of an arch."""
    span = arch_span_mm(near, tire_radius_mm)
    if span is None or ARCH_SPAN_MM[0] <= span <= ARCH_SPAN_MM[1]:
        return ""
    return (
        f"{name}: the metal ahead of the hub and behind it is {both(span)} apart at its height. Arches span"
        f" {ARCH_SPAN_MM[0] / 1000:.1f} to {ARCH_SPAN_MM[1] / 1000:.1f} m: check the unit and the hub point."
    )


def off_middle(name: str, near: Near, tire_radius_mm: float) -> str:
    """The doubt where the hub stands far from the middle of its arch; it does not ask how large the tire is."""
    ends = arch_ends_mm(near, tire_radius_mm)
    if ends is None or odd_arch(name, near, tire_radius_mm):
        return ""
    ahead, behind = ends
    off = (behind - ahead) / 2.0
    if abs(off) <= OFF_MIDDLE_MM:
        return ""
    return (
        f"{name}: the hub stands {both(abs(off))} {'ahead of' if off > 0 else 'behind'} the middle of its arch:"
        f" {both(ahead)} from the metal ahead, {both(behind)} from that behind. Wheels stand within about 20 mm of it:"
        " check the hub point, and which way is ahead."
    )
