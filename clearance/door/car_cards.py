"""The order card to print, and to read out on the telephone."""

from __future__ import annotations

from typing import Any

from clearance.answers.checked import Progress, silent
from clearance.door.answer import Answer
from clearance.door.cars import order_car
from clearance.mockup.car import Car
from clearance.mockup.mockup import MockUp

CARD = "order-card"


def order_files(
    asked: MockUp | Car, answer: Answer[Any] | None = None, *, paper: str = "letter", progress: Progress = silent
) -> dict[str, bytes]:
    """The order of a corner or a car as order-card.pdf, one card a page, and as order-card.txt.

    `answer` is that of `order_car` for a car, where it was asked already. Raises OutputError for a paper that is not
    known, before anything is measured.
    """
    from clearance.answers.spoken_card import spoken_cards
    from clearance.export.papers import paper_named
    from clearance.report.order_sheet import order_sheet, order_text

    paper_named(paper)
    car, quantities = asked, {}
    if isinstance(car, MockUp):
        # a corner's own order says how many wheels are wanted; a car's wheels are those of its corners
        quantities = {car.corner: car.terms.order.quantity}
        car = Car(title=car.title or car.corner, corners={car.corner: car}, units=car.units)
        answer = None
    cards = (answer or order_car(car, progress=progress)).value
    spoken = spoken_cards(car, cards, quantities=quantities)
    return {
        f"{CARD}.pdf": order_sheet(spoken, title=car.title, unit=car.units, paper=paper),
        f"{CARD}.txt": order_text(spoken, title=car.title, unit=car.units),
    }
