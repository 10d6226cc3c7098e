"""A corner moved by hand: where everything stands at a position that is asked, and what comes closest there.

* place    - a position that the cycle has: the one that was asked, or the nearest to it
* standing - the poses there, one part's gap with its nearest points, and its section
* here     - the gap at that position alone; it is none of the whole cycle, and says so
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from clearance.units import both, led_by

if TYPE_CHECKING:
    from clearance.gap.found import Gap
    from clearance.mockup.mockup import MockUp
    from clearance.suspension.position import Position

WORST, SOON, HERE, MEANWHILE = "worst", "soon", "here", "meanwhile"
"""How a gap is known: certified over the whole cycle; the same but for its last digit; measured at this position; sure
while a dial is dragged."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """A corner at one position."""

    mockup: MockUp
    position: Position
    known: str
    gap: Gap | None
    """Of the part that is looked at; None where nothing stands around the wheel."""

    @property
    def words(self) -> str:
        """The position, as the real car steers."""
        from clearance.mockup.words import words_of

        mockup = self.mockup
        return led_by(words_of(self.position, mockup.suspension.cycle, right_hand=mockup.right_hand), mockup.units)

    def facts(self, *, drawn: bool = True) -> dict[str, Any]:
        """As a page wants it; with its section where `drawn`."""
        from clearance.pose import car_steer_deg
        from clearance.report.moving import poses_of

        position, gap = self.position, self.gap
        right = self.mockup.right_hand
        return {
            "known": self.known,
            "at": {
                "bump": round(position.bump_mm, 3) + 0.0,
                "other": round(position.other_bump_mm, 3) + 0.0,
                "steer": round(car_steer_deg(position.steer_deg, right_hand=right), 3) + 0.0,
            },
            "words": self.words,
            **poses_of(self.mockup, position, (0.0, 0.0) if gap is None else gap.shift_mm),
            "contact": None if gap is None else _contact(self.mockup, gap, self.known, drawn=drawn),
        }


def _contact(mockup: MockUp, gap: Gap, known: str, *, drawn: bool) -> dict[str, Any]:
    from clearance.door.bench import said_of, section_of

    said = led_by(said_of(gap, known in (WORST, HERE)), mockup.units)
    return {
        "part": gap.part,
        "gap": said,
        "verdict": gap.verdict if known in (WORST, SOON) else "",
        "must_keep": led_by(both(gap.required_mm), mockup.units),
        "where": led_by(f"{gap.region}; {gap.where}", mockup.units),
        "on_part": [round(float(value), 3) + 0.0 for value in gap.on_part_mm],
        "on_tire": [round(float(value), 3) + 0.0 for value in gap.on_tire_mm],
        "svg": section_of(mockup, gap, said) if drawn else "",
    }


def reach_of(mockup: MockUp) -> dict[str, Any]:
    """How far the corner can be moved by hand, and what of it moves; steer is the car's own."""
    cycle = mockup.suspension.cycle
    low, high = cycle.steer_deg
    steer = (0.0 - high, 0.0 - low) if mockup.right_hand else (low, high)
    ends = {"bump": cycle.bump_mm, "other": cycle.other_bump_mm, "steer": steer}
    return {
        "ends": {name: [round(float(value), 3) + 0.0 for value in two] for name, two in ends.items()},
        "mirrored": mockup.right_hand,
        "reach": round(mockup.solid.reach_mm, 1),
    }


def place(mockup: MockUp, bump_mm: float, other_bump_mm: float, steer_deg: float) -> Position:
    """The position of the cycle that is nearest to what is asked; steer is the car's own."""
    from clearance.pose import car_steer_deg
    from clearance.suspension.position import Position

    cycle = mockup.suspension.cycle
    inside = car_steer_deg(steer_deg, right_hand=mockup.right_hand)
    asked = (bump_mm, other_bump_mm, inside)
    bump, other, steer = (min(max(v, low), high) for v, (low, high) in zip(asked, cycle.box.tolist(), strict=True))
    if cycle.articulation_mm is not None:
        # the wheel that is looked at stands where it is asked; the other one follows as far as the axle lets it
        other = min(max(other, bump - cycle.articulation_mm), bump + cycle.articulation_mm)
    return Position(bump_mm=bump, other_bump_mm=other, steer_deg=steer)


def standing_at(mockup: MockUp, position: Position, part: str) -> Standing:
    """The corner at a position, and the gap of one part there. Raises PartError for a name that is not there."""
    from clearance.gap.rest import as_a_whole
    from clearance.gap.still import at_position

    gap = as_a_whole(mockup, at_position(mockup, position, parts=(part,))[0]) if part else None
    return Standing(mockup=mockup, position=position, known=HERE, gap=gap)


def standing_worst(mockup: MockUp, gaps: Sequence[Gap], part: str = "", *, known: str = WORST) -> Standing:
    """The corner where its tightest part, or this one, comes closest; of gaps over the whole cycle.

    Raises PartError for a name that is not there.
    """
    from clearance.gap.rest import as_a_whole, at_rest
    from clearance.report.findings import worst_first
    from clearance.suspension.position import Position

    if part:
        mockup.part(part)
    chosen = next((gap for gap in worst_first(gaps) if part in ("", gap.part)), None)
    if chosen is not None:
        chosen = (at_rest if known in (WORST, SOON) else as_a_whole)(mockup, chosen)
    return Standing(mockup=mockup, position=Position() if chosen is None else chosen.position, known=known, gap=chosen)


def all_at(mockup: MockUp, position: Position, go_on: Callable[[], None]) -> list[dict[str, str]]:
    """The gap of every part at one position, in words, the nearest first; `go_on` is asked between two parts."""
    from clearance.door.bench import said_of
    from clearance.gap.still import at_position

    found = []
    for part in mockup.parts:
        go_on()
        found.append(at_position(mockup, position, parts=(part.name,))[0])
    found.sort(key=lambda gap: gap.stands_at_mm)
    return [{"part": gap.part, "gap": led_by(said_of(gap, True), mockup.units)} for gap in found]


def shapes(mockup: MockUp, known: Mapping[str, str]) -> dict[str, Any]:
    """Everything that is drawn of a corner; of the parts those whose sum is not among the known ones."""
    from clearance.report.moving import outline_of, shape_of, sum_of

    sums = {part.name: sum_of(mockup, part) for part in mockup.parts}
    new = [part for part in mockup.parts if known.get(part.name) != sums[part.name]]
    return {
        **reach_of(mockup),
        **outline_of(mockup),
        "names": [part.name for part in mockup.parts],
        "parts": [{**shape_of(mockup, part), "sum": sums[part.name]} for part in new],
    }
