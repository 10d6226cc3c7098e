"""From the mock-up to the order, and from what was read on each box to measured wheels.

A measured file is a list of tables, one for each wheel, in TOML ([[wheel]]) or CSV (a row for each wheel) with the same
keys. Lengths carry their unit.

* name                      - the box: "front left"
* width, overall_width      - between and over the flanges
* straight_edge             - from the straight edge down to the mounting face; straight_edge_thickness where it was
                              read from its far side
* bead_seat_diameter, bead_seat_circumference, flange_diameter - any one of them
* holes, hole_on, hole_reading, hole_diameter, hole_from - one reading of the bolt circle: how many holes, how many on
                              the other one is, the reading, the hole's diameter, and from where on the first hole
* center_bore, lug_seat, thread, engagement_turns (a number) or engagement
* read_to                   - plus or minus of the lengths of this wheel, instead of the defaults; tape_to of those that
                              a tape reads alone, calipers_to of bolt circle and bore alone
"""

from __future__ import annotations

import difflib
import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from clearance.errors import InputError, UnitError, WheelError
from clearance.plain import echoed
from clearance.terms import OrderTerms
from clearance.units import MM_PER_INCH, both, inch_text, length_mm, number_of
from clearance.wheel.fasteners import Thread
from clearance.wheel.inspection import (
    BY_CALIPERS,
    CENTRE,
    FAR_EDGE,
    HOLE_PLACES,
    READINGS_MM,
    HoleReading,
    Measured,
    Order,
    circle_from_holes_mm,
    reading_for_mm,
    widest_step,
)

if TYPE_CHECKING:
    from clearance.mockup.mockup import MockUp

_LENGTHS = (
    "width",
    "overall_width",
    "straight_edge",
    "straight_edge_thickness",
    "bead_seat_diameter",
    "bead_seat_circumference",
    "flange_diameter",
    "center_bore",
    "engagement",
)
_HOLES = ("holes", "hole_on", "hole_reading", "hole_diameter", "hole_from")
_TOOLS = ("read_to", "tape_to", "calipers_to")
KEYS = ("name", *_LENGTHS, *_HOLES, "lug_seat", "thread", "engagement_turns", *_TOOLS)
"""Every key of a measured wheel."""


def order_of(mockup: MockUp, terms: OrderTerms) -> Order:
    """What was ordered: the mock-up's wheel and what [order] adds to it.

    Raises WheelError for a thread that is none.
    """
    wheel = mockup.wheel
    return Order(
        width_mm=wheel.width_mm,
        bead_seat_diameter_mm=wheel.bead_seat_diameter_mm,
        flange_diameter_mm=wheel.flange_diameter_mm,
        overall_width_mm=wheel.overall_width_mm,
        backspace_mm=wheel.backspace_mm,
        bolt_circle=wheel.bolt_circle,
        center_bore_mm=wheel.center_bore_mm,
        lug_seat=terms.lug_seat,
        thread=None if terms.thread is None else Thread.parse(terms.thread),
        quantity=terms.quantity,
        tolerances_mm=terms.tolerances_mm,
    )


MOST_BOXES = 100
MOST_TURNS = 100


def measured_of(rows: Sequence[Mapping[str, Any]], *, file: str) -> tuple[Measured, ...]:
    """Measured wheels from the rows of a file; empty cells are not measured.

    Raises WheelError with the wheel and the key.
    """
    if len(rows) > MOST_BOXES:
        raise WheelError(f"{file}: {len(rows):,} wheels are more than one order has.")
    return tuple(_one(row, f"{file}: wheel {number}") for number, row in enumerate(rows, start=1))


def _one(row: Mapping[str, Any], place: str) -> Measured:
    given = {key: value for key, value in row.items() if value not in ("", None)}
    _refuse_unknown(given, place)
    if "name" not in given:
        raise WheelError(f'{place}: name is missing. Write which box it is, as name = "front left".')
    name = _words(given["name"], place, "name")
    place = f"{place} ({name})"
    lengths = {key: _length(given[key], place, key) for key in _LENGTHS if key in given}
    return Measured(
        name=name,
        width_mm=lengths.get("width"),
        overall_width_mm=lengths.get("overall_width"),
        straight_edge_mm=lengths.get("straight_edge"),
        straight_edge_thickness_mm=lengths.get("straight_edge_thickness", 0.0),
        bead_seat_circumference_mm=lengths.get("bead_seat_circumference"),
        bead_seat_diameter_mm=lengths.get("bead_seat_diameter"),
        flange_diameter_mm=lengths.get("flange_diameter"),
        holes=_holes(given, place),
        center_bore_mm=lengths.get("center_bore"),
        lug_seat=None if "lug_seat" not in given else _words(given["lug_seat"], place, "lug_seat"),
        thread=None
        if "thread" not in given
        else _read(_words(given["thread"], place, "thread"), Thread.parse, place, "thread"),
        engagement_turns=_turns(given, place),
        engagement_mm=lengths.get("engagement"),
        readings_mm=_readings(given, place),
    )


def _readings(given: Mapping[str, Any], place: str) -> dict[str, float]:
    """Plus or minus of each item that was said: of all of them, or of one tool's alone."""
    items = {
        "read_to": tuple(READINGS_MM),
        "tape_to": tuple(item for item in READINGS_MM if item not in BY_CALIPERS),
        "calipers_to": BY_CALIPERS,
    }
    found: dict[str, float] = {}
    for tool in _TOOLS:
        if tool in given:
            found |= dict.fromkeys(items[tool], _length(given[tool], place, tool))
    return found


def _refuse_unknown(given: Mapping[str, Any], place: str) -> None:
    for key in given:
        if key not in KEYS:
            near = difflib.get_close_matches(str(key)[:80], KEYS, n=1)
            hint = f" Did you mean {echoed(near[0])}?" if near else ""
            raise WheelError(f"{place}: the key {echoed(key)} is not known.{hint} Known: {', '.join(KEYS)}.")


def _words(value: object, place: str, key: str) -> str:
    """A word or two that fit into a column."""
    text = value.strip() if isinstance(value, str) else ""
    if not text or len(text) > MOST_LETTERS or not text.isprintable():
        raise WheelError(
            f"{place}, {key}: {echoed(value)} is not text on one line. Write up to {MOST_LETTERS} letters."
        )
    return text


MOST_LETTERS = 80


def _read(value: object, parse: Callable[[Any], Any], place: str, key: str) -> Any:
    try:
        return parse(value)
    except InputError as wrong:
        raise WheelError(f"{place}, {key}: {wrong}") from None


def _length(value: object, place: str, key: str) -> float:
    """A length that was read; a calliper shows none below zero, and of a width none at it."""
    mm: float = _read(value, length_mm, place, key)
    if mm < 0 or (mm == 0 and key not in _MAY_BE_NONE):
        raise WheelError(f"{place}, {key}: {echoed(value)} must be more than zero.")
    return mm


_MAY_BE_NONE = ("straight_edge_thickness", "engagement", *_TOOLS, "straight_edge")


def _number(value: object, place: str, key: str, what: str, most: float) -> float:
    try:
        number = number_of(str(value))
    except UnitError:
        number = math.nan
    if isinstance(value, bool) or not 0 < number <= most:
        raise WheelError(f"{place}, {key}: {echoed(value)} is not {what}.")
    return number


def _whole(value: object, place: str, key: str, what: str) -> int:
    number = _number(value, place, key, what, 100)
    if number != int(number):
        raise WheelError(f"{place}, {key}: {echoed(value)} is not {what}.")
    return int(number)


def _turns(given: Mapping[str, Any], place: str) -> float | None:
    if "engagement_turns" not in given:
        return None
    what = "a number of turns; write 8 or 8.5"
    return _number(given["engagement_turns"], place, "engagement_turns", what, MOST_TURNS)


def _holes(given: Mapping[str, Any], place: str) -> HoleReading | None:
    if not any(key in given for key in _HOLES):
        return None
    for key in ("holes", "hole_reading"):
        if key not in given:
            raise WheelError(f"{place}: a bolt circle needs holes and hole_reading; {key} is missing.")
    count = _whole(given["holes"], place, "holes", "a number of holes")
    on = _whole(given.get("hole_on", widest_step(count)), place, "hole_on", "a number of holes on; 1 is the next")
    start = given.get("hole_from", FAR_EDGE if "hole_diameter" in given else CENTRE)
    if start not in HOLE_PLACES:
        raise WheelError(f"{place}, hole_from: {echoed(start)} is not known. Write one of: {', '.join(HOLE_PLACES)}.")
    diameter = _length(given["hole_diameter"], place, "hole_diameter") if "hole_diameter" in given else 0.0
    reading = _length(given["hole_reading"], place, "hole_reading")
    try:
        read = HoleReading(holes=count, on=on, reading_mm=reading, hole_diameter_mm=diameter, start=start)
        circle_from_holes_mm(read)
        return read
    except WheelError as wrong:
        raise WheelError(f"{place}, hole_reading: {wrong}") from None


# ---- the order card


@dataclass(frozen=True, slots=True, kw_only=True)
class CardLine:
    """One line of the order card."""

    item: str
    value: str
    tolerance: str
    how: str
    """How it is measured, by whoever makes it and whoever opens the box."""


def order_card(mockup: MockUp, terms: OrderTerms) -> tuple[CardLine, ...]:
    """What to tell the wheel maker, each number with its tolerance and how it is measured."""
    order, wheel = order_of(mockup, terms), mockup.wheel

    def allowed(item: str) -> str:
        return f"+-{order.tolerance_mm(item):g} mm"

    lines = [
        CardLine(item="quantity", value=str(order.quantity), tolerance="", how="all to one drawing"),
        CardLine(
            item="rim diameter",
            value=f"{wheel.diameter_in:g} in; bead seat {both(order.bead_seat_diameter_mm)}",
            tolerance=allowed("diameter"),
            how="tape round the bead seat, divided by pi; not over the flanges",
        ),
        CardLine(
            item="rim width",
            value=f"{wheel.width_in:g} in ({wheel.width_mm:.1f} mm)",
            tolerance=allowed("width"),
            how="inside calipers between the flanges, where the beads sit",
        ),
        CardLine(
            item="overall width",
            value=both(order.overall_width_mm),
            tolerance=allowed("overall_width"),
            how=f"over both flanges; each taken as {wheel.flange_thickness_mm:g} mm",
        ),
        CardLine(
            item="backspace",
            value=f"{order.backspace_mm / MM_PER_INCH:.3f} in; {both(order.backspace_mm)}",
            tolerance=allowed("backspace"),
            how="straight edge across the inner flange, down to the mounting face",
        ),
        CardLine(
            item="offset",
            value=f"{wheel.offset_mm:+.1f} mm ({inch_text(wheel.offset_mm)})",
            tolerance="",
            how="positive with the face outboard of the middle; backspace less half the overall width",
        ),
        *_circle_lines(order),
        CardLine(
            item="center bore",
            value="not stated: measure the hub's nose" if order.center_bore_mm is None else both(order.center_bore_mm),
            tolerance="" if order.center_bore_mm is None else allowed("center_bore"),
            how="calipers in the bore, three ways round",
        ),
        CardLine(
            item="lug seat",
            value=order.lug_seat or "not stated: look at the nuts you will use",
            tolerance="",
            how="a nut held in the seat shows no light",
        ),
        *_thread_lines(order, terms),
        CardLine(
            item="brake inside",
            value=f"barrel {both(wheel.barrel_mm)} inside at least",
            tolerance="",
            how="measured"
            if wheel.barrel_inner_diameter_mm is not None
            else "assumed from the standard contour; ask the maker",
        ),
        CardLine(
            item="tire",
            value=f"{mockup.tire.marking or 'as measured'}, {both(mockup.tire.overall_diameter_mm)} high,"
            f" {both(mockup.tire.section_width_mm)} wide on this rim",
            tolerance="",
            how="; ".join(
                f"{name.replace('_', ' ')} {source}"
                for name, source in sorted(mockup.tire.sources.items())
                if "width" in name or "diameter" in name
            ),
        ),
    ]
    return tuple(lines)


def _circle_lines(order: Order) -> list[CardLine]:
    circle = order.bolt_circle
    if circle is None:
        return [CardLine(item="bolt circle", value="not stated: measure the hub", tolerance="", how="see `inspect`")]
    on, hole = widest_step(circle.studs), 14.0
    shown = reading_for_mm(circle, on=on, hole_diameter_mm=hole, start=FAR_EDGE)
    other = "the hole opposite" if circle.studs % 2 == 0 else f"the hole {on} on"
    return [
        CardLine(
            item="bolt circle",
            value=f"{circle.studs} x {circle.diameter_mm:.2f} mm ({circle.diameter_mm / MM_PER_INCH:.3f} in)",
            tolerance=f"+-{order.tolerance_mm('bolt_circle'):g} mm",
            how=f"far edge of one hole to the centre of {other}: {shown:.2f} mm with {hole:g} mm holes;"
            f" centre to centre {circle.chord_mm(on):.2f} mm, next hole {circle.chord_mm(1):.2f} mm",
        )
    ]


def _thread_lines(order: Order, terms: OrderTerms) -> list[CardLine]:
    if order.thread is None:
        return [CardLine(item="stud thread", value="not stated", tolerance="", how="run a known nut on by hand")]
    thread = order.thread
    lines = [
        CardLine(
            item="stud thread",
            value=str(thread),
            tolerance="",
            how=f"at least {thread.turns:.1f} turns, {thread.least_engagement_mm:.1f} mm engaged: one diameter"
            " (common practice)",
        )
    ]
    if terms.stud_length_mm is not None and terms.seat_depth_mm is not None:
        left = terms.stud_length_mm - terms.seat_depth_mm
        enough = "enough" if left >= thread.least_engagement_mm else "TOO SHORT: longer studs, or a thinner seat"
        lines.append(
            CardLine(
                item="thread left",
                value=both(left),
                tolerance="",
                how=f"stud {both(terms.stud_length_mm)} less seat {both(terms.seat_depth_mm)}: {enough}",
            )
        )
    return lines
