"""What a measured gap is: a bracket with its witness, never a bare number.

* gap      - least signed distance from a part's surface to the tire-and-wheel solid; negative is a depth
* at_least - proven for every position of the cycle: no position, no point of the part is closer. Minus infinity where
             nothing is known from below: a part that holds the wheel inside it, a cloud of points that may have holes
* at_most  - found: the gap at the witness, a real position and a real point of the part
* verdict  - read off these two numbers and the required gap, and off nothing else, so that it cannot disagree with them
* held     - how much of the cycle the gap is as small for: not known to be at more than its one position, at others
             too, or at every one (`gap.held`)
* doubt    - why the bracket is wider than was asked for

What is not known widens the bracket: a hole of a scan that the tire comes near lowers `at_least` to what the hole could
hide, and the verdict follows.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

from clearance.defaults import TOLERANCE_MM
from clearance.geom.bracket import DEEP_MM, DEEP_SHARE
from clearance.pose import Array
from clearance.suspension.position import Position

CLEARS = "clears"
TIGHT = "tight"
HITS = "hits"
UNDECIDED = "undecided"

AT_ONE = "one"
AT_OTHERS = "others"
AT_EVERY = "every"

ROUNDING_MM = 1e-3
"""What the path's own error and the digits of a search may add to a bracket that is as narrow as was asked."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Hidden:
    """A hole of a part's scan that could hide something nearer to the tire than all that was measured of it."""

    at_least_mm: float
    """The gap of the nearest thing that it could hide."""
    across_mm: tuple[float, float]
    """The hole's length and width."""
    area_mm2: float
    """Of the surface that is missing."""
    middle_mm: Array
    """(3,): in corner axes, at ride height."""
    where: str
    """The place in words."""
    closed: bool = False
    """Does the sheet go on across it, unmeasured, with nothing standing out?"""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Gap:
    """The gap of one part over a whole cycle (or at one position), with its witness. Points are in corner axes.

    Raises ValueError where the two ends are not in order, or a swallowed wheel is given room.
    """

    part: str
    required_mm: float
    at_least_mm: float
    at_most_mm: float
    tolerance_mm: float = TOLERANCE_MM
    """How wide the bracket was asked to be at most."""
    position: Position
    """Where in the cycle the witness stands."""
    shift_mm: tuple[float, float]
    """Play taken up at the witness: (ahead, outboard)."""
    on_part_mm: Array
    """(3,): the witness point of the part, where the part is at that position."""
    on_tire_mm: Array
    """(3,): the nearest point of the tire or wheel."""
    toward_part: Array
    """(3,): unit direction from the tire to the part; moving the part this way opens the gap fastest."""
    at_rest_mm: Array
    """(3,): the witness point where the part is at ride height, on its triangles, its skin not taken off."""
    share: float = 0.0
    """Of the far end's move that this point makes."""
    region: str
    """Which surface of the tire or wheel: "tread", "outer shoulder", "barrel"."""
    where: str
    """The place in words."""
    per_mm: dict[str, float] = field(default_factory=dict)
    """Change of the gap for one millimetre of each: backspace, section_width, overall_diameter, bump (or per degree:
    steer_per_deg).
    """
    uncertainty_mm: float = 0.0
    """How far the part and the path of the wheel may really be from where they are given; never part of the bracket."""
    swallowed: bool = False
    """A closed part that holds the whole wheel inside it: the surfaces never cross. `at_most_mm` is then by how much
    the wheel would have to move at least to be out of it, below zero."""
    hidden: tuple[Hidden, ...] = ()
    """Holes within reach of the tire, the nearest first."""
    unseen: bool = False
    """Can the part have holes that nothing shows? Then nothing is known from below."""
    unmeasured: tuple[str, ...] = ()
    """What of the motion was not measured, where that moves an end of the bracket; what would narrow it."""
    motion_checked: int = 0
    """0 where the path of the wheel is proven for every position; else at how many positions it was checked."""
    boxes: int = 0
    """How many boxes of part and position were looked at."""
    held: str = AT_ONE
    """At which positions no gap of the part is larger than the lower end and what a bracket may be wide: at the
    witness' (`AT_ONE`), at one far from it too (`AT_OTHERS`), or, proven, at all (`AT_EVERY`)."""

    def __post_init__(self) -> None:
        if math.isnan(self.at_least_mm) or not math.isfinite(self.at_most_mm) or self.at_least_mm > self.at_most_mm:
            raise ValueError(f"no bracket: {self.at_least_mm} to {self.at_most_mm}")
        if self.swallowed and self.at_most_mm >= 0.0:
            raise ValueError("a wheel that is inside a part has no room")

    @property
    def verdict(self) -> str:
        """`clears`, `tight`, `hits` or `undecided`, by the bracket alone."""
        return verdict_of(self.at_least_mm, self.at_most_mm, self.required_mm, self.tolerance_mm)

    @property
    def finished(self) -> bool:
        """Is the bracket as narrow as was asked for? A depth may be known to half a millimetre or 2 %."""
        return self.at_most_mm - self.at_least_mm <= self.allowed_mm + ROUNDING_MM

    @property
    def allowed_mm(self) -> float:
        """How far apart the two ends may be."""
        if self.at_most_mm < 0.0:
            return max(self.tolerance_mm, DEEP_MM, DEEP_SHARE * -self.at_most_mm)
        return self.tolerance_mm

    @property
    def stands_at_mm(self) -> float:
        """The one number to sort and to reckon with: the lower end, or the upper where nothing is known from below."""
        return self.at_least_mm if math.isfinite(self.at_least_mm) else self.at_most_mm

    @property
    def spare_mm(self) -> float:
        """The lower end less the required gap: what is left over, or missing."""
        return self.at_least_mm - self.required_mm


def verdict_of(at_least_mm: float, at_most_mm: float, required_mm: float, tolerance_mm: float) -> str:
    """What a bracket says of a required gap.

    A bracket as narrow as was asked for that straddles the required gap is read carefully, as `tight`. One that
    straddles zero says nothing: it may touch, and it may not.

    >>> verdict_of(25.0, 25.02, 25.0, 0.05), verdict_of(24.98, 25.02, 25.0, 0.05), verdict_of(-0.5, -0.3, 25.0, 0.05)
    ('clears', 'tight', 'hits')
    >>> verdict_of(-0.01, 0.03, 25.0, 0.05), verdict_of(20.0, 30.0, 25.0, 0.05)
    ('undecided', 'undecided')
    """
    if at_most_mm < 0.0:
        return HITS
    if at_least_mm >= required_mm:
        return CLEARS
    narrow = at_most_mm - at_least_mm <= tolerance_mm + ROUNDING_MM
    if at_least_mm >= 0.0 and (at_most_mm < required_mm or narrow):
        return TIGHT
    return UNDECIDED
