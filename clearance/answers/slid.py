"""Tires on rims for every offset at once: one outline that slides along the spin axis, and the disc that stays behind.

A wheel of another offset is the same rim and tire further in or out, with its disc begun at the hub's face. So it is
drawn once, drilled for the greatest offset that it can have, which leaves its disc thinnest, and slid outboard from
there; what the slid disc leaves free down to the hub's face is put back as a ring of its own (`Outline.disc_mm`). A
caliper inside the barrel meets that ring whatever the offset is. The rim stands about that ring, so no point outside
of the barrel is nearer to it than to the rim.

* slides - a wheel whose mounting face lies within its rim, with its disc's least thickness before the front edge; any
           other is drawn for itself

Lengths are millimetres.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from clearance.answers.seen_at_once import Outline, Rings
from clearance.answers.tires import mounted, rim_of, shape_of
from clearance.geom.chain import Chain
from clearance.mockup.solid import profile_of
from clearance.pose import Array
from clearance.wheel.wheel import LEAST_DISC_MM

if TYPE_CHECKING:
    from clearance.mockup.mockup import MockUp
    from clearance.tire.catalog import Listed
    from clearance.tire.tire import Tire
    from clearance.wheel.wheel import Wheel

MOST_OFFSET_MM = 1000.0
"""No wheel is believed to have more."""
MOST_MOUNTS = 4_000
"""Kept at once, some 10 kB each; the first that was mounted goes first."""
_HAIR_MM = 1e-6


@dataclass(frozen=True, slots=True, eq=False)
class Mount:
    """One tire on one rim, drawn for an offset of its own."""

    tire: Tire
    wheel: Wheel
    outline: Outline

    def slides_to(self, offset_mm: float) -> bool:
        """Whether the outline, slid, is the wheel of this offset."""
        return 0.0 <= self.outline.offset_mm - offset_mm <= self.outline.slides_mm


@dataclass(slots=True, eq=False)
class Rim:
    """One tire on one rim, and its mounts: one that slides, and those of offsets that it does not slide to."""

    tire: Tire
    wheel: Wheel
    """At whatever offset."""
    sliding: Mount
    own: dict[float, Mount] = field(default_factory=dict)

    def at(self, offset_mm: float) -> Mount:
        """The mount whose outline, slid, is the wheel of this offset."""
        if self.sliding.slides_to(offset_mm):
            return self.sliding
        if offset_mm not in self.own:
            wheel = self.wheel.with_offset(offset_mm)
            self.own[offset_mm] = Mount(self.tire, wheel, _drawn(self.tire, wheel, None))
        return self.own[offset_mm]


def rim_of_its_own(corner: MockUp) -> Rim:
    """The tire and rim that a corner has, for every offset."""
    return Rim(corner.tire, corner.wheel, _sliding(corner.tire, corner.wheel))


def spare_at(rings: Rings, rim: Rim, offset_mm: float) -> float:
    """The least that any part has beyond its required gap to a rim of this offset; never below the truth."""
    outline = rim.at(offset_mm).outline
    return rings.spare_mm(outline, outline.offset_mm - offset_mm)


def spares_at(rings: Rings, rim: Rim, offsets_mm: Array) -> Array:
    """(n,): the same at each of n offsets."""
    spares = np.empty(len(offsets_mm))
    outlines = [rim.at(float(offset)).outline for offset in offsets_mm]
    for outline in dict.fromkeys(outlines):
        rows = [row for row, one in enumerate(outlines) if one is outline]
        spares[rows] = rings.spares_mm(outline, outline.offset_mm - offsets_mm[rows])
    return spares


class Mounts:
    """Tires on rims, each mounted once for all corners that would mount it alike."""

    def __init__(self) -> None:
        self._rims: dict[tuple[object, ...], Rim] = {}

    def rim(self, like: MockUp, listed: Listed, width_in: float) -> Rim:
        """A listed tire on a rim of this width, as it would be on a corner.

        Raises TireError where neither the list nor the marking gives its size.
        """
        wheel = rim_of(like.wheel, width_in, listed.marking.rim_in)
        key = (listed, width_in, *_of_tire(like.tire), *_of_wheel(wheel))
        found = self._rims.get(key)
        if found is None:
            if len(self._rims) >= MOST_MOUNTS:
                del self._rims[next(iter(self._rims))]
            tire = mounted(listed, width_in, like.tire)
            found = self._rims[key] = Rim(tire, wheel, _sliding(tire, wheel))
        return found


def _of_tire(like: Tire) -> tuple[object, ...]:
    """All that a tire hands on to another in its place (see `tires.as_used`)."""
    in_service = like.sources.get("growth", "").startswith("in service")
    grown = (like.growth_width_mm, like.growth_diameter_mm)
    return (shape_of(like), in_service, *grown, like.chain_tread_mm, like.chain_side_mm)


def _of_wheel(wheel: Wheel) -> tuple[object, ...]:
    """All of a rim that its outline is made of, but for the offset."""
    face = None if wheel.face_mm is None else wheel.face_mm + wheel.offset_mm
    return (
        wheel.diameter_in,
        wheel.flange_thickness_mm,
        wheel.flange_height_mm,
        wheel.barrel_inner_diameter_mm,
        wheel.center_bore_mm,
        face,
    )


def _sliding(tire: Tire, wheel: Wheel) -> Mount:
    """Drilled for the greatest offset from which it slides; where there is none, as it is."""
    most = wheel.overall_width_mm / 2 - LEAST_DISC_MM
    if wheel.face_mm is not None:
        most = min(most, wheel.face_mm + wheel.offset_mm - LEAST_DISC_MM)
    if most <= -wheel.overall_width_mm / 2 + 2 * _HAIR_MM:
        return Mount(tire, wheel, _drawn(tire, wheel, None))
    drilled = wheel.with_offset(most)
    disc = ((wheel.center_bore_mm or 0.0) / 2, wheel.barrel_mm / 2)
    return Mount(tire, drilled, _drawn(tire, drilled, disc))


def _drawn(tire: Tire, wheel: Wheel, disc_mm: tuple[float, float] | None) -> Outline:
    profile = profile_of(tire, wheel)
    low, high, _, far = profile.bounds
    return Outline(
        chain=Chain(profile),
        bounds=profile.bounds,
        reach_mm=float((max(abs(low), abs(high)) ** 2 + far**2) ** 0.5),
        offset_mm=wheel.offset_mm,
        disc_mm=disc_mm,
        slides_mm=0.0 if disc_mm is None else wheel.backspace_mm - _HAIR_MM,
    )
