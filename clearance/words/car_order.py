"""The order of a car, wheel by wheel, as it is read out to the wheel maker."""

from __future__ import annotations

from collections.abc import Sequence

from clearance.answers.car_card import WheelCard
from clearance.mockup.car import Car
from clearance.wheel.fasteners import CAUTION
from clearance.words.order import card_lines
from clearance.words.text import car_head, notes_by_corner


def page(car: Car, cards: Sequence[WheelCard]) -> str:
    """A card for each kind of wheel."""
    lines = [f"Order: {car.title}", *car_head(car)[1:]]
    lines += notes_by_corner({name: corner.warnings for name, corner in car.corners.items()})
    for card in cards:
        lines += [f"For {', '.join(card.corners)}:", "", *card_lines(card.lines), ""]
        if not card.clears:
            lines += ["  This wheel does not clear at all of them as it stands here: do not order it so.", ""]
    lines += [CAUTION, "Check the car on paper first: `clearance check`, then `budget` for each corner."]
    return "\n".join(lines)
