"""One named thing in the well, as triangles in corner axes at ride height.

A part need not be a solid: open sheets, duplicated and degenerate triangles are all fine. A round bar is its centre
line (triangles with no area) with a `skin_mm` of its radius; a cloud of points is points with a skin.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from clearance.pose import Array


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FarEnd:
    """The other end of a part that is carried by two frames, as a shock between body and axle is."""

    frame: str
    """What the far end rides on."""
    point_mm: Array
    """(3,): the far end itself, at ride height."""
    share: Array
    """(n, 3): for every corner of every triangle, 0 at the near end, 1 at the far end, and between along the part: as
    `rides_on` sees it, a corner is found at its place plus share x how far `point_mm`, carried by `frame`, has
    moved."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Part:
    """One named thing in the well."""

    name: str
    kind: str
    """The corner file's word: wall, plate, box, bar, tub, lip, mesh."""
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
    far_end: FarEnd | None = None
    endless: tuple[str, ...] = ()
    """The sides to which it goes on without bound ("ahead", "behind", "above", "below"): there its edge is not one of
    the car, only far enough away to measure."""
    notes: tuple[str, ...] = field(default=())
    """What a reader of the findings must know about it: cleaned, cut, assumed."""
