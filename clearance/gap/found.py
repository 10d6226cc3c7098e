"""What a measured gap is: a bracket with its witness, never a bare number.

* gap      - least signed distance from a part's surface to the tire-and-wheel solid; negative is a depth
* at_least - proven for every position of the cycle: no position, no point of the part is closer
* at_most  - found: the gap at the witness, a real position and a real point of the part
"""

from __future__ import annotations

from dataclasses import dataclass, field

from clearance.pose import Array
from clearance.suspension.position import Position

CLEARS = "clears"
TIGHT = "tight"
HITS = "hits"
UNDECIDED = "undecided"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Gap:
    """The gap of one part over a whole cycle (or at one position), with its witness. Points are in corner axes."""

    part: str
    required_mm: float
    at_least_mm: float
    at_most_mm: float
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
    finished: bool = True
    """False where the work limit was reached before the bracket closed."""
    swallowed: bool = False
    """A closed part that holds the whole wheel inside it: the surfaces never cross and the gap says nothing."""
    boxes: int = 0
    """How many boxes of part and position were looked at."""

    @property
    def verdict(self) -> str:
        """`clears`, `tight`, `hits` or `undecided`."""
        if self.swallowed or self.at_most_mm < 0:
            return HITS
        if self.at_least_mm >= self.required_mm:
            return CLEARS
        if self.finished:
            # the bracket is as narrow as was asked for: the careful reading is its lower end
            return TIGHT
        return TIGHT if self.at_least_mm >= 0 and self.at_most_mm < self.required_mm else UNDECIDED
