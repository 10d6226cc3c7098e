"""One named thing in the well, as triangles in corner axes at ride height.

A part need not be a solid: open sheets, duplicated and degenerate triangles are all fine. A round bar is its centre
line (triangles with no area) with a `skin_mm` of its radius; a cloud of points is points with a skin.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np

from clearance.errors import PartError
from clearance.pose import Array, read_only
from clearance.sound import a_number, a_word, an_array, one_of, shown
from clearance.well.part_kinds import PART_KINDS

SIDES = ("ahead", "behind", "above", "below")
_ROUNDING = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FarEnd:
    """The other end of a part that is carried by two frames, as a shock between body and axle is.

    Raises PartError for what is none.
    """

    frame: str
    """What the far end rides on."""
    point_mm: Array
    """(3,): the far end itself, at ride height."""
    share: Array
    """(n, 3): for every corner of every triangle, 0 at the near end, 1 at the far end, and between along the part: as
    `rides_on` sees it, a corner is found at its place plus share x how far `point_mm`, carried by `frame`, has
    moved."""

    def __post_init__(self) -> None:
        a_word(self.frame, "what the far end rides on", PartError, key="ends_ride_on")
        an_array(self.point_mm, (3,), "the far end", PartError, key="points")
        an_array(self.share, (None, 3), "the shares of the far end", PartError, key="points")
        if float(self.share.min()) < -_ROUNDING or float(self.share.max()) > 1.0 + _ROUNDING:
            raise PartError("a share of the far end lies outside 0 to 1.", key="points")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Hole:
    """A place of a scan where nothing was measured, and what it could hide. Corner axes, at ride height."""

    triangles_mm: Array
    """(n, 3, 3): its cap, between the points of its rim."""
    across_mm: tuple[float, float]
    """Its length, and its width: of the largest circle that goes into it."""
    area_mm2: float
    """Of the surface that is missing, as seen square to it."""
    middle_mm: Array
    """(3,)"""
    stands_out_mm: float
    """How far off its cap what it hides may be."""
    uneven_mm: float = 0.0
    """How far its rim is from flat."""
    bay: bool = False
    """Does it reach the scan's outside, so that no rim goes round it?"""
    closed: bool = False
    """Does the sheet go on across it, as somebody saw or felt? Then only where it does was not measured."""

    def moved(self, by_mm: Array) -> Hole:
        """The same hole elsewhere."""
        return replace(
            self, triangles_mm=read_only(self.triangles_mm + by_mm), middle_mm=read_only(self.middle_mm + by_mm)
        )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Part:
    """One named thing in the well.

    Raises PartError for one that could not be measured: without triangles or with some that are nowhere, without a
    name, of a kind that is not known, with a size below zero.
    """

    name: str
    kind: str
    """The corner file's word, of `part_kinds`."""
    triangles_mm: Array
    """(n, 3, 3) corners in corner axes at ride height; read-only."""
    required_mm: float = 0.0
    """The gap that it must keep."""
    required_from: str = "corner file"
    """Who says so: "corner file", or "default for a wall, common practice"."""
    rides_on: str = "body"
    """What it moves with: "body", "axle", "knuckle", or a link that the suspension names."""
    skin_mm: float = 0.0
    """How far its real surface stands off the triangles all round: the radius of a bar or of a scanned point."""
    thickness_mm: float = 0.0
    """Of the sheet behind the surface, away from the tire; used to make bodies of zones, never in the gap."""
    uncertainty_mm: float = 0.0
    """How far its surface may really be from where it is given: the tape's or the scan's."""
    drawn_mm: float = 0.0
    """How far a curve that the triangles stand for may lie from them: the height of a chord."""
    far_end: FarEnd | None = None
    endless: tuple[str, ...] = ()
    """The sides to which it goes on without bound ("ahead", "behind", "above", "below"): there its edge is not one of
    the car, only far enough away to measure."""
    holes: tuple[Hole, ...] = ()
    """Where a scan has holes that nobody says are really open."""
    unseen: bool = False
    """Can it have holes that nothing shows? So it is with a cloud of points, until somebody says that it has none."""
    notes: tuple[str, ...] = field(default=())
    """What a reader of the findings must know about it: cleaned, cut, assumed."""

    def __post_init__(self) -> None:
        a_word(self.name, "the name of a part", PartError, key="name")
        named = f'part "{self.name}"'
        one_of(self.kind, tuple(PART_KINDS), "a kind of part", PartError, key="kind")
        an_array(self.triangles_mm, (None, 3, 3), f"{named}, its triangles", PartError)
        sizes = {
            "required": self.required_mm,
            "skin": self.skin_mm,
            "thickness": self.thickness_mm,
            "uncertainty": self.uncertainty_mm,
            "chord": self.drawn_mm,
        }
        for key, size in sizes.items():
            a_number(size, f"{named}, its {key}", PartError, least=0.0, key=key)
        a_word(self.rides_on, f"{named}, what it rides on", PartError, key="rides_on")
        if not isinstance(self.endless, tuple) or any(side not in SIDES for side in self.endless):
            raise PartError(
                f"{named}: it cannot be endless to {shown(self.endless)}; write some of {', '.join(SIDES)}."
            )
        if self.far_end is not None and (
            not isinstance(self.far_end, FarEnd) or len(self.far_end.share) != len(self.triangles_mm)
        ):
            raise PartError(f"{named}: its far end is not one of its {len(self.triangles_mm)} triangles.", key="points")

    def moved(self, by_mm: Array, far_by_mm: Array | None = None) -> Part:
        """The part and its holes carried to another place: all by one step (3,), or its far end by another."""
        far = self.far_end
        if far is None or far_by_mm is None:
            step: Array = np.broadcast_to(by_mm, self.triangles_mm.shape)
            end = by_mm
        else:
            step = by_mm + far.share[..., None] * (far_by_mm - by_mm)
            end = far_by_mm
        return replace(
            self,
            triangles_mm=read_only(self.triangles_mm + step),
            far_end=None if far is None else replace(far, point_mm=read_only(far.point_mm + end)),
            holes=tuple(hole.moved(by_mm) for hole in self.holes),
        )
