"""Before and after: two mock-ups, or two findings, part by part; and the left of one car against its right.

Left against right needs two tape numbers on each side: hub face to spring, and hub face to lip. The spring is bolted to
the axle and to the frame; the lip is the body's. So:

* an axle that stands towards one side has that hub further out on its spring and nearer to its lip, and the other the
  other way round
* a body or panel that is out leaves the springs alone and changes the lips only

Half of each difference is the shift. Lengths are millimetres.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from clearance.answers.checked import gaps_of
from clearance.errors import InputError
from clearance.gap.found import AT_EVERY, AT_OTHERS, Gap
from clearance.gap.rest import at_rest
from clearance.mockup.mockup import MockUp
from clearance.mockup.words import held_text, words_of
from clearance.suspension.position import Cycle
from clearance.terms import Tape
from clearance.units import both

TAPE_MM = 1.5
"""Plus or minus of a tape to a sixteenth; two readings differ for no reason by up to twice this."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Side:
    """What one side of the comparison says about a part."""

    gap_mm: float
    """Proven."""
    required_mm: float
    verdict: str
    position: str
    where: str
    region: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PartChange:
    """One part before and after; None where it is not there."""

    part: str
    before: Side | None
    after: Side | None

    @property
    def change_mm(self) -> float | None:
        """After less before; positive means more room."""
        if self.before is None or self.after is None:
            return None
        return self.after.gap_mm - self.before.gap_mm


def side_of(gap: Gap, cycle: Cycle, *, right_hand: bool = False) -> Side:
    """What a measured gap says; a right corner steers as the mirror image that it was measured as."""
    return Side(
        gap_mm=gap.stands_at_mm,
        required_mm=gap.required_mm,
        verdict=gap.verdict,
        position=held_text(
            words_of(gap.position, cycle, right_hand=right_hand),
            every=gap.held == AT_EVERY,
            others=gap.held == AT_OTHERS,
        ),
        where=gap.where,
        region=gap.region,
    )


def compare(before: Mapping[str, Side], after: Mapping[str, Side]) -> tuple[PartChange, ...]:
    """Every part of either, in the order of the first and then of what is new."""
    names = list(before) + [name for name in after if name not in before]
    return tuple(PartChange(part=n, before=before.get(n), after=after.get(n)) for n in names)


def sides_of(gaps: Iterable[Gap], cycle: Cycle, *, right_hand: bool = False) -> dict[str, Side]:
    """The parts of a measured mock-up."""
    return {gap.part: side_of(gap, cycle, right_hand=right_hand) for gap in gaps}


@dataclass(frozen=True, slots=True, kw_only=True)
class LeftRight:
    """Which is out: the axle under the car, or the body over it."""

    axle_to_left_mm: float
    """How far the axle stands to the left of the middle of its springs; negative to the right."""
    panel_mm: float
    """How much further out the left lip stands than the right one, once the axle is centred; half the difference."""
    doubt_mm: float
    """Plus or minus of each, from the tape."""
    verdict: str


def left_right(left: Tape, right: Tape, *, tape_mm: float = TAPE_MM) -> LeftRight:
    """Axle shifted, panel out, both, or neither.

    Raises InputError where one of the four numbers is missing.

    >>> left_right(Tape(hub_to_spring_mm=155, hub_to_lip_mm=149), Tape(hub_to_spring_mm=143, hub_to_lip_mm=161)).verdict
    'the axle stands 6.0 mm (1/4 in) to the left; the panels agree'
    """
    numbers = (left.hub_to_spring_mm, left.hub_to_lip_mm, right.hub_to_spring_mm, right.hub_to_lip_mm)
    if any(n is None for n in numbers):
        raise InputError(
            "left against right needs hub_to_spring and hub_to_lip on both sides. Measure all four:"
            " write them in [tape]."
        )
    spring_l, lip_l, spring_r, lip_r = (float(n or 0.0) for n in numbers)
    # The left hub stands further out on its spring by what the axle has gone to the left, and the right one less so.
    axle = (spring_l - spring_r) / 2
    panel = (lip_l - lip_r) / 2 + axle
    # Each is half a difference of readings; their errors add up in squares.
    doubt_axle, doubt_panel = tape_mm / 2**0.5, tape_mm
    return LeftRight(
        axle_to_left_mm=axle, panel_mm=panel, doubt_mm=doubt_panel, verdict=_words(axle, panel, doubt_axle, doubt_panel)
    )


def _words(axle: float, panel: float, doubt_axle: float, doubt_panel: float) -> str:
    shifted, out = abs(axle) > doubt_axle, abs(panel) > doubt_panel
    axle_words = f"the axle stands {both(abs(axle))} to the {'left' if axle > 0 else 'right'}"
    panel_words = (
        f"the {'left' if panel > 0 else 'right'} panel stands {both(2 * abs(panel))} further out than the other"
    )
    if shifted and out:
        return f"{axle_words}, and {panel_words}"
    if shifted:
        return f"{axle_words}; the panels agree"
    if out:
        return f"{panel_words}; the axle is centred on its springs"
    return "neither: both sides agree to within the tape"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Measure:
    """One side of a comparison: measured from a corner, or as it stands in findings."""

    title: str
    corner: str
    sides: Mapping[str, Side]
    warnings: tuple[str, ...]
    mockup: MockUp | None = None


def measured(mockup: MockUp, *, title: str = "") -> Measure:
    """Every gap of a corner, as one side of a comparison."""
    sides = sides_of(
        [at_rest(mockup, gap) for gap in gaps_of(mockup)], mockup.suspension.cycle, right_hand=mockup.right_hand
    )
    return Measure(
        title=mockup.title or title, corner=mockup.corner, sides=sides, warnings=mockup.warnings, mockup=mockup
    )


def of_one_axle(first: Measure, second: Measure) -> LeftRight | None:
    """Left against right, of the two sides of one axle, each with its tape numbers; None of any other two."""
    if first.mockup is None or second.mockup is None:
        return None
    ends = {first.corner.split("-")[0], second.corner.split("-")[0]}
    hands = (first.mockup.right_hand, second.mockup.right_hand)
    tapes = (first.mockup.terms.tape, second.mockup.terms.tape)
    left, right = tapes[::-1] if hands[0] else tapes
    if len(ends) != 1 or hands[0] == hands[1] or left is None or right is None:
        return None
    return left_right(left, right)
