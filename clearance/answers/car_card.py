"""The order of a car: one card for each kind of wheel on it, for all of the corners that it goes on.

The backspace may lie where the wheel clears at every one of these corners, over the whole cycle of each.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from clearance.answers.boxes import CardLine, order_card, order_of
from clearance.answers.checked import Progress, silent
from clearance.answers.shared import Shared, SharedWindow, shared_window
from clearance.answers.wheel_kinds import wheel_kinds
from clearance.units import MM_PER_INCH, both, inch_inside

if TYPE_CHECKING:
    from clearance.mockup.car import Car
    from clearance.mockup.mockup import MockUp


@dataclass(frozen=True, slots=True, kw_only=True)
class WheelCard:
    """What to say on the telephone of one kind of wheel."""

    corners: tuple[str, ...]
    lines: tuple[CardLine, ...]
    window: SharedWindow
    """On the width that is ordered."""

    @property
    def clears(self) -> bool:
        """Whether the wheel clears as it is ordered, at every one of its corners."""
        past = self.window.given_past_mm()
        return past is not None and past <= 0


def car_cards(car: Car, *, progress: Progress = silent) -> tuple[WheelCard, ...]:
    """A card for each kind of wheel of the car, front first."""
    return tuple(_card(kind.corners, progress) for kind in wheel_kinds(car))


def _card(corners: Sequence[MockUp], progress: Progress) -> WheelCard:
    first = corners[0]
    by_name: Mapping[str, MockUp] = {corner.corner: corner for corner in corners}
    window = shared_window(by_name, " and ".join(by_name), widths_in=(first.wheel.width_in,), progress=progress)
    terms = replace(first.terms.order, quantity=len(corners))
    lines = list(order_card(first, terms))
    made_within_mm = order_of(first, terms).tolerance_mm("backspace")
    at = next(i for i, line in enumerate(lines) if line.item == "backspace") + 1
    return WheelCard(
        corners=tuple(by_name),
        lines=(*lines[:at], *_allowed(window, len(corners), made_within_mm), *lines[at:]),
        window=window,
    )


def _allowed(window: SharedWindow, corners: int, made_within_mm: float) -> list[CardLine]:
    """The backspaces that clear, and those to ask for, so that one that is made a little off clears too."""
    where = "at every one of them" if corners > 1 else "there"
    stretches = [stretch for row in window.widths for stretch in row.stretches]
    if not stretches:
        return [
            CardLine(
                item="backspace may be",
                value=f"none that clears {where}",
                tolerance="",
                how="see `window` and `least-change`",
            )
        ]
    return [_line(stretch, where, made_within_mm) for stretch in stretches]


def _line(stretch: Shared, where: str, made_within_mm: float) -> CardLine:
    low, high = stretch.least.end.backspace_mm, stretch.most.end.backspace_mm
    least, most = low + made_within_mm, high - made_within_mm
    asked = f"{inch_inside(least, at_least=True)} to {inch_inside(most, at_least=False)}"
    if math.ceil(16 * least / MM_PER_INCH - 1e-6) > math.floor(16 * most / MM_PER_INCH + 1e-6):
        asked = f"{least:.1f} to {most:.1f} mm, which no sixteenth of an inch is in"
    if least > most:
        asked = f"nothing that is made to +-{made_within_mm:g} mm: {both(stretch.middle_backspace_mm)} comes closest"
    return CardLine(
        item="backspace may be",
        value=f"{low / MM_PER_INCH:.3f} to {high / MM_PER_INCH:.3f} in; ask for {asked}",
        tolerance="",
        how=f"clears {where}, over the whole cycle; {stretch.least.corner} binds the shallow end,"
        f" {stretch.most.corner} the deep one; what is asked for is inside by the +-{made_within_mm:g} mm of making",
    )
