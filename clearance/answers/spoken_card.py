"""The order card as it is said on the telephone: one line a number, each with what it is easily mistaken for.

* said     - one line: what, the number, and what goes with it
* rests on - what the window was found from, and what was taken because it was not measured
* open     - what was not stated; to be found out before anything is ordered

Lengths are in words, millimetres first; whoever shows them turns them round for who wants inches first.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from clearance.answers.boxes import order_of
from clearance.answers.car_card import WheelCard
from clearance.tire.load import load_kg
from clearance.units import KG_PER_POUND, MM_PER_INCH, both, fine, inch_text
from clearance.wheel.bolt_circle import traps
from clearance.wheel.inspection import Order

if TYPE_CHECKING:
    from clearance.mockup.car import Car
    from clearance.mockup.mockup import MockUp
    from clearance.wheel.wheel import Wheel

OPEN = "not stated"


@dataclass(frozen=True, slots=True, kw_only=True)
class Said:
    """One line of a card."""

    item: str
    value: str
    more: str = ""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SpokenCard:
    """One kind of wheel, ready to be read out."""

    head: str
    """ "2 wheels for rear left and rear right"."""
    wheel: Wheel
    said: tuple[Said, ...]
    clears: bool
    """Whether it clears at all of its corners as it is ordered."""
    rests_on: tuple[str, ...]
    open: tuple[str, ...]


def spoken_cards(
    car: Car, cards: Sequence[WheelCard], *, quantities: Mapping[str, int] | None = None
) -> tuple[SpokenCard, ...]:
    """A card to read out for each kind of wheel; `quantities` by the first corner of a kind, where more are ordered."""
    return tuple(_card(car, card, (quantities or {}).get(card.corners[0], len(card.corners))) for card in cards)


def _card(car: Car, card: WheelCard, quantity: int) -> SpokenCard:
    corners = [car.at(name) for name in card.corners]
    first = corners[0]
    order = order_of(first, replace(first.terms.order, quantity=quantity))
    said = tuple(_said(first, corners, order, card))
    where = " and ".join(name.replace("-", " ") for name in card.corners)
    return SpokenCard(
        head=f"{quantity} {'wheel' if quantity == 1 else 'wheels'} for {where}",
        wheel=first.wheel,
        said=said,
        clears=card.clears,
        rests_on=tuple(_rests_on(car, corners)),
        open=tuple(line.item for line in said if line.value.startswith(OPEN)),
    )


def _said(first: MockUp, corners: Sequence[MockUp], order: Order, card: WheelCard) -> Iterator[Said]:
    wheel = first.wheel
    yield Said(item="Quantity", value=str(order.quantity), more="all to one drawing")
    yield Said(item="Rim diameter", value=f"{wheel.diameter_in:g} in", more="the rim's code, not over the flanges")
    yield Said(
        item="Rim width",
        value=f"{wheel.width_in:g} in",
        more=f"between the flanges, either way {fine(order.tolerance_mm('width'))}; over them about"
        f" {both(order.overall_width_mm)}",
    )
    yield Said(
        item="Backspace",
        value=exactly(order.backspace_mm),
        more=f"either way {fine(order.tolerance_mm('backspace'))}; straight edge across the inner flange, to the face",
    )
    for line in card.lines:
        if line.item == "backspace may be":
            yield Said(item="It may be", value=line.value.partition("; ")[2] or line.value, more=_window(line.value))
    yield Said(
        item="Offset",
        value=f"{wheel.offset_mm:+.1f} mm",
        more="plus: the mounting face is outboard of the rim's middle",
    )
    yield _circle(order)
    yield _bore(order)
    yield Said(
        item="Lug seat", value=order.lug_seat or OPEN, more="" if order.lug_seat else "look at the nuts you will use"
    )
    yield _thread(order)
    yield _load(first, corners)
    yield _brake(wheel)
    yield _tire(first)


def exactly(mm: float) -> str:
    """A length as it is ordered: the fraction where it is one, else thousandths of an inch.

    >>> exactly(95.25), exactly(100.0)
    ('95.25 mm (3 3/4 in)', '100.00 mm (3.937 in)')
    """
    sixteenths = 16 * mm / MM_PER_INCH
    inch = inch_text(mm) if abs(sixteenths - round(sixteenths)) < 0.004 else f"{mm / MM_PER_INCH:.3f} in"
    return f"{mm:.2f} mm ({inch})"


def _window(value: str) -> str:
    clears, _, asked = value.partition("; ")
    if not asked:
        return ""
    return f"{clears} clears at every one of them, the whole cycle; what to ask for is inside it by the tolerance"


def _circle(order: Order) -> Said:
    circle = order.bolt_circle
    if circle is None:
        return Said(item="Bolt circle", value=OPEN, more="measure the hub: see `clearance inspect`")
    others = " or ".join(str(other) for other in traps(circle))
    taken = f"NOT {others}, which it is taken for and which does not interchange" if others else ""
    return Said(item="Bolt circle", value=f"{circle.studs} x {exactly(circle.diameter_mm)}", more=taken)


def _bore(order: Order) -> Said:
    if order.center_bore_mm is None:
        return Said(item="Center bore", value=OPEN, more="measure the hub's nose; the bore must clear it")
    allowed = fine(order.tolerance_mm("center_bore"))
    return Said(item="Center bore", value=exactly(order.center_bore_mm), more=f"either way {allowed}")


def _thread(order: Order) -> Said:
    if order.thread is None:
        return Said(item="Stud thread", value=OPEN, more="run a known nut on by hand")
    thread = order.thread
    return Said(item="Stud thread", value=str(thread), more=f"at least {thread.turns:.1f} turns must engage")


def _load(first: MockUp, corners: Sequence[MockUp]) -> Said:
    """The largest load of the corners; what the tire is marked for goes with it, and proves nothing of the wheel."""
    given = [corner.terms.load.corner_kg for corner in corners]
    known = [kg for kg in given if kg is not None]
    info = first.tire.info
    marked = ""
    if info is not None and info.load_index is not None:
        marked = f"; the tire's {info.load_index} is {load_kg(info.load_index)} kg"
    if not known:
        return Said(
            item="Load", value=OPEN, more=f"weigh the loaded car; each wheel is rated for its share at least{marked}"
        )
    lacking = ""
    if len(known) < len(given):
        lacking = f"; {len(given) - len(known)} of {len(given)} corners do not say theirs"
    more = f"the wheel's own rating, at least{marked}{lacking}"
    return Said(item="Load", value=f"{_kg(max(known))} a wheel", more=more)


def _kg(kg: float) -> str:
    """A load that must be carried: the pounds never fewer.

    >>> _kg(265.0)
    '265 kg (585 lb)'
    """
    return f"{kg:g} kg ({math.ceil(kg / KG_PER_POUND - 1e-6)} lb)"


def _brake(wheel: Wheel) -> Said:
    more = "inside the barrel, at least"
    if wheel.barrel_inner_diameter_mm is None:
        more = "inside the barrel, taken from the standard contour; ask the maker"
    return Said(item="Brake room", value=both(wheel.barrel_mm), more=more)


def _tire(first: MockUp) -> Said:
    tire = first.tire
    return Said(
        item="Tire",
        value=tire.marking or "as measured",
        more=f"{both(tire.overall_diameter_mm)} high, {both(tire.section_width_mm)} wide on this rim",
    )


def _rests_on(car: Car, corners: Sequence[MockUp]) -> Iterator[str]:
    yield from car.cautions
    for corner in corners:
        low, high = corner.suspension.cycle.bump_mm
        within = corner.terms.uncertainty.parts_mm
        sure = "" if within is None else f", each known to {fine(within)}"
        yield (
            f"{corner.corner.replace('-', ' ').capitalize()}: {len(corner.parts)} parts stand around it{sure}; measured"
            f" from {both(-low)} droop to {both(high)} bump."
        )
    said = [*(w for corner in corners for w in corner.warnings), *(a for corner in corners for a in corner.assumptions)]
    for words in dict.fromkeys(said):
        if "easily taken for" not in words:  # the bolt circle's own line says it
            yield f"{words[:1].upper()}{words[1:]}{'' if words.endswith('.') else '.'}"
