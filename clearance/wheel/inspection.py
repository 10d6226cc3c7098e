"""The wheels in their boxes, before a tire is mounted: what each number that was read says of its order.

A mounted wheel cannot be returned, so every number is judged together with how well it was read. With the difference
from the order d, the tolerance t and the reading's plus-or-minus u, the wheel itself is somewhere in d - u to d + u:

* within   - d + u <= t: as ordered, whatever the reading hides
* outside  - d - u > t: not as ordered, whatever the reading hides
* open     - anything between: the reading does not tell
* not read - there is no number

What becomes of the wheel is one word, and another question: `decided.py`.

How each is read:

* bead seat width  - inside calipers between the two flanges, where the beads will sit; not over the flanges
* overall width    - over both flanges
* backspace        - a straight edge across the inner flange; from it down to the mounting face, less the straight edge
                     where its far side was read
* bead seat diameter - a tape round the seat, divided by pi; or over the flanges, less two flange heights
* bolt circle      - from the edge of one hole to the centre of another, so many holes on: see `circle_from_holes_mm`

Lengths are millimetres. Tolerances and readings are shop practice (common practice), all editable.
"""

from __future__ import annotations

import math
import statistics
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

from clearance.errors import WheelError
from clearance.plain import echoed
from clearance.units import both, fine
from clearance.wheel.bolt_circle import BoltCircle, from_chord, nearest_known, traps
from clearance.wheel.fasteners import CAUTION, Thread

WITHIN = "within"
OUTSIDE = "outside"
OPEN = "open"
UNREAD = "not read"
FINDINGS = (WITHIN, OUTSIDE, OPEN, UNREAD)

TOLERANCES_MM: Mapping[str, float] = {
    "width": 1.5,
    "overall_width": 3.0,
    "diameter": 1.0,
    "flange_diameter": 3.0,
    "backspace": 1.5,
    "bolt_circle": 0.3,
    "center_bore": 0.2,
}
"""What may differ from the order; common practice, editable. The flange's height alone may differ 1 mm each side
(JIS D 4218:2021 table 3), so a diameter taken over the flanges is allowed 2 mm more than the seat."""

READINGS_MM: Mapping[str, float] = {
    "width": 0.8,
    "overall_width": 0.8,
    "diameter": 0.5,
    "circumference": 1.6,
    "flange_diameter": 0.8,
    "backspace": 0.8,
    "hole": 0.2,
    "center_bore": 0.1,
}
"""Plus or minus of a careful reading: a straight length to 1/32 in, a tape round the seat to 1/16 in, calipers across a
machined edge to 0.1 or 0.2 mm."""
BY_CALIPERS = ("hole", "center_bore")
"""What a tape cannot tell: read with calipers, or not told."""

FAR_EDGE = "far edge"
NEAR_EDGE = "near edge"
CENTRE = "centre"
SAME_EDGE = "same edge"
HOLE_PLACES = (FAR_EDGE, NEAR_EDGE, CENTRE, SAME_EDGE)
"""From where on the first hole the reading starts: its far or near edge, its centre, or the same edge of both holes."""


@dataclass(frozen=True, slots=True, kw_only=True)
class HoleReading:
    """One reading between two holes of a pattern, from an edge of one to the centre of another.

    Raises WheelError where the two holes are the same or the reading is not a length.
    """

    holes: int
    """In the whole pattern."""
    on: int
    """How many holes on the other one is: 1 is the next, 2 skips one; opposite in an even pattern is half of them."""
    reading_mm: float
    hole_diameter_mm: float = 0.0
    start: str = CENTRE
    """One of HOLE_PLACES."""

    def __post_init__(self) -> None:
        if not 3 <= self.holes <= 12:
            raise WheelError(f"a pattern of {self.holes} holes is not known; 3 to 12 are.")
        if not 1 <= self.on <= self.holes // 2:
            raise WheelError(
                f"in a pattern of {self.holes} holes the other hole is 1 to {self.holes // 2} on, not {self.on}."
            )
        if self.start not in HOLE_PLACES:
            raise WheelError(
                f"{echoed(self.start)} is not a place to measure from. Use one of: {', '.join(HOLE_PLACES)}."
            )
        if self.start in (FAR_EDGE, NEAR_EDGE) and self.hole_diameter_mm <= 0:
            raise WheelError("a reading from a hole's edge needs the hole's diameter. Measure it with calipers.")
        if centre_distance_mm(self) <= 0:
            raise WheelError(f"a reading of {self.reading_mm:g} mm between two holes is not a length.")


def centre_distance_mm(reading: HoleReading) -> float:
    """Centre to centre of the two holes: the reading less, or plus, half a hole.

    Two like edges are as far apart as the centres, so "same edge" needs no hole diameter.
    """
    half = reading.hole_diameter_mm / 2
    return reading.reading_mm + {FAR_EDGE: -half, NEAR_EDGE: half}.get(reading.start, 0.0)


def circle_from_holes_mm(reading: HoleReading) -> float:
    """Diameter of the circle through the hole centres.

    The chord across `on` holes of n is D sin(on pi / n). In an even pattern the opposite hole gives D itself; in an odd
    one there is no opposite hole, and the trade's "edge of one hole to the centre of the second" is only D by luck.

    >>> round(circle_from_holes_mm(HoleReading(holes=5, on=2, reading_mm=108.706)), 2)
    114.3
    >>> circle_from_holes_mm(HoleReading(holes=4, on=2, reading_mm=107.0, hole_diameter_mm=14.0, start="far edge"))
    100.0
    """
    return from_chord(reading.holes, centre_distance_mm(reading), reading.on).diameter_mm


def reading_for_mm(circle: BoltCircle, *, on: int, hole_diameter_mm: float = 0.0, start: str = FAR_EDGE) -> float:
    """What the calipers should show on a wheel of this circle: for the order card."""
    half = hole_diameter_mm / 2
    return circle.chord_mm(on) + {FAR_EDGE: half, NEAR_EDGE: -half}.get(start, 0.0)


def widest_step(holes: int) -> int:
    """How many holes on the furthest hole is: opposite in an even pattern, the better of the two in an odd one."""
    return holes // 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Order:
    """What was ordered: what every wheel in its box is held against. None is not judged."""

    width_mm: float
    """Between the flanges."""
    bead_seat_diameter_mm: float
    flange_diameter_mm: float
    overall_width_mm: float
    backspace_mm: float
    bolt_circle: BoltCircle | None = None
    center_bore_mm: float | None = None
    lug_seat: str | None = None
    thread: Thread | None = None
    quantity: int = 4
    tolerances_mm: Mapping[str, float] = field(default_factory=dict)
    """Over TOLERANCES_MM."""

    def tolerance_mm(self, item: str) -> float:
        """What this item may differ."""
        return self.tolerances_mm.get(item, TOLERANCES_MM[item])


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured:
    """What one wheel measured; None is not measured."""

    name: str
    width_mm: float | None = None
    overall_width_mm: float | None = None
    straight_edge_mm: float | None = None
    """From the straight edge down to the mounting face, as read."""
    straight_edge_thickness_mm: float = 0.0
    """Where the reading was taken from the straight edge's far side; else 0."""
    bead_seat_circumference_mm: float | None = None
    bead_seat_diameter_mm: float | None = None
    flange_diameter_mm: float | None = None
    holes: HoleReading | None = None
    center_bore_mm: float | None = None
    lug_seat: str | None = None
    thread: Thread | None = None
    engagement_turns: float | None = None
    """Whole and part turns of the nut from first bite to seated."""
    engagement_mm: float | None = None
    readings_mm: Mapping[str, float] = field(default_factory=dict)
    """Over READINGS_MM."""

    @property
    def backspace_mm(self) -> float | None:
        """The reading less the straight edge."""
        return None if self.straight_edge_mm is None else self.straight_edge_mm - self.straight_edge_thickness_mm

    @property
    def diameter_mm(self) -> float | None:
        """Bead seat diameter: measured, or the circumference over pi."""
        if self.bead_seat_diameter_mm is not None:
            return self.bead_seat_diameter_mm
        return None if self.bead_seat_circumference_mm is None else self.bead_seat_circumference_mm / math.pi

    def reading_mm(self, item: str) -> float:
        """Plus or minus of this item's reading; what is read round the seat is divided by pi with it."""
        if item == "diameter" and self.bead_seat_diameter_mm is None:
            return self._read_to_mm("circumference") / math.pi
        return self._read_to_mm(item)

    def _read_to_mm(self, item: str) -> float:
        return self.readings_mm.get(item, READINGS_MM[item])


@dataclass(frozen=True, slots=True, kw_only=True)
class Check:
    """One item of one wheel, held against the order."""

    wheel: str
    item: str
    ordered: str
    measured: str
    finding: str
    """One of FINDINGS."""
    why: str
    difference_mm: float | None = None
    reading_mm: float | None = None
    tolerance_mm: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Inspection:
    """Every number of every wheel."""

    wheels: tuple[str, ...]
    checks: tuple[Check, ...]
    lacking: int
    """How many wheels of the order were not read."""
    remarks: tuple[str, ...]
    """What is to be said of all of them together; it decides no wheel."""
    cautions: tuple[str, ...]

    def of(self, wheel: str) -> tuple[Check, ...]:
        """The numbers of one wheel."""
        return tuple(check for check in self.checks if check.wheel == wheel)


def inspect(order: Order, wheels: Sequence[Measured]) -> Inspection:
    """Hold every wheel against the order and against the others.

    Raises WheelError where there is no wheel, or two have one name.
    """
    if not wheels:
        raise WheelError("no wheel was measured. Write at least one [[wheel]] with its name and readings.")
    names = [wheel.name for wheel in wheels]
    for name in names:
        if names.count(name) > 1:
            raise WheelError(f"two wheels are called {echoed(name)}. Give each box its own name.")
    lacking = max(0, order.quantity - len(wheels))
    remarks = list(_against_each_other(order, wheels))
    if lacking:
        remarks.insert(0, f"{len(wheels)} of {order.quantity} wheels were read: one of a set is as often wrong as all.")
    return Inspection(
        wheels=tuple(names),
        checks=tuple(check for wheel in wheels for check in _wheel_checks(order, wheel)),
        lacking=lacking,
        remarks=tuple(remarks),
        cautions=cautions(order, wheels),
    )


_LENGTHS: tuple[tuple[str, str, Callable[[Order], float | None], Callable[[Measured], float | None]], ...] = (
    ("width", "bead seat width", lambda o: o.width_mm, lambda m: m.width_mm),
    ("overall_width", "overall width", lambda o: o.overall_width_mm, lambda m: m.overall_width_mm),
    ("diameter", "bead seat diameter", lambda o: o.bead_seat_diameter_mm, lambda m: m.diameter_mm),
    ("flange_diameter", "flange diameter", lambda o: o.flange_diameter_mm, lambda m: m.flange_diameter_mm),
    ("backspace", "backspace", lambda o: o.backspace_mm, lambda m: m.backspace_mm),
    ("center_bore", "center bore", lambda o: o.center_bore_mm, lambda m: m.center_bore_mm),
)
_OPTIONAL = {"overall_width", "diameter", "flange_diameter"}
"""A missing one is not asked for: the width says as much, and either diameter serves."""


def _wheel_checks(order: Order, wheel: Measured) -> list[Check]:
    checks: list[Check] = []
    for item, words, ordered, measured in _LENGTHS:
        want, found = ordered(order), measured(wheel)
        if want is None or (found is None and item in _OPTIONAL):
            continue
        checks.append(_length(order, wheel, item, words, want, found))
    if wheel.diameter_mm is None and wheel.flange_diameter_mm is None:
        checks.append(_length(order, wheel, "diameter", "bead seat diameter", order.bead_seat_diameter_mm, None))
    if order.bolt_circle is not None:
        checks.append(_circle(order, order.bolt_circle, wheel))
    if order.lug_seat is not None:
        checks.append(_seat(order.lug_seat, wheel))
    if order.thread is not None:
        checks += _thread(order.thread, wheel)
    return _that_agree(order, wheel, checks)


def judged(difference_mm: float, tolerance_mm: float, reading_mm: float) -> str:
    """Within, open or outside; see the module.

    >>> judged(0.5, 1.5, 0.8), judged(1.0, 1.5, 0.8), judged(2.5, 1.5, 0.8)
    ('within', 'open', 'outside')
    """
    # a reading on the line counts as within: a nanometre is arithmetic, not a wheel
    off = abs(difference_mm)
    if off + reading_mm <= tolerance_mm + 1e-9:
        return WITHIN
    return OUTSIDE if off - reading_mm > tolerance_mm + 1e-9 else OPEN


def _length(order: Order, wheel: Measured, item: str, words: str, want: float, found: float | None) -> Check:
    if found is None:
        return Check(
            wheel=wheel.name, item=words, ordered=both(want), measured="", finding=UNREAD, why="not measured yet"
        )
    tolerance, reading = order.tolerance_mm(item), wheel.reading_mm(item)
    return _compared(wheel.name, words, want, found, tolerance, reading)


def _compared(
    name: str, words: str, want: float, found: float, tolerance: float, reading: float, more: str = ""
) -> Check:
    off = found - want
    finding = judged(off, tolerance, reading)
    why = f"{_off(off)}, read to {fine(reading)} either way, allowed {fine(tolerance)}"
    if finding == OPEN and reading >= tolerance:
        why += ": calipers can tell, this reading cannot"
    return Check(
        wheel=name,
        item=words,
        ordered=both(want, digits=2),
        measured=both(found, digits=2),
        finding=finding,
        why=why + more,
        difference_mm=off,
        reading_mm=reading,
        tolerance_mm=tolerance,
    )


def _off(off_mm: float) -> str:
    """A difference from the order in words.

    >>> _off(-1.27), _off(0.001)
    ('1.27 mm (0.050 in) less than ordered', 'as ordered')
    """
    if abs(off_mm) < 0.005:
        return "as ordered"
    return f"{fine(abs(off_mm))} {'more' if off_mm > 0 else 'less'} than ordered"


def _circle(order: Order, circle: BoltCircle, wheel: Measured) -> Check:
    words = "bolt circle"
    if wheel.holes is None:
        want = f"{circle.studs} x {both(circle.diameter_mm, digits=2)}"
        return Check(wheel=wheel.name, item=words, ordered=want, measured="", finding=UNREAD, why="not measured yet")
    holes = wheel.holes
    if holes.holes != circle.studs:
        return Check(
            wheel=wheel.name,
            item=words,
            ordered=f"{circle.studs} holes",
            measured=f"{holes.holes} holes",
            finding=OUTSIDE,
            why="another number of holes",
        )
    reading = circle_reading_mm(holes, wheel.reading_mm("hole"))
    found = circle_from_holes_mm(holes)
    # A neighbour of the ordered circle is named whenever the reading cannot rule it out.
    taken_for = [str(other) for other in traps(circle) if abs(other.diameter_mm - found) <= reading + 1e-9]
    near = nearest_known(BoltCircle(studs=circle.studs, diameter_mm=found))
    if taken_for:
        more = f"; it could be {' or '.join(taken_for)}, which does not interchange"
    elif near is not None and abs(near.diameter_mm - circle.diameter_mm) > order.tolerance_mm("bolt_circle") + reading:
        more = f"; the nearest circle in common use is {near}"
    else:
        more = ""
    return _compared(
        wheel.name,
        words,
        circle.diameter_mm,
        found,
        order.tolerance_mm("bolt_circle"),
        reading,
        more=more,
    )


def circle_reading_mm(reading: HoleReading, hole_mm: float) -> float:
    """Plus or minus of the circle when an edge can be read to `hole_mm`: the shorter the chord, the worse.

    The hole's diameter is read as well as an edge is, and half of it counts.
    """
    own = math.hypot(hole_mm, hole_mm / 2) if reading.start in (FAR_EDGE, NEAR_EDGE) else hole_mm
    return own / math.sin(math.pi * reading.on / reading.holes)


def _seat(want: str, wheel: Measured) -> Check:
    if wheel.lug_seat is None:
        finding, why = UNREAD, "not looked at yet: hold a nut in the seat and look for light"
    elif _plain(wheel.lug_seat) == _plain(want):
        finding, why = WITHIN, "same seat"
    else:
        finding, why = OUTSIDE, "another seat: a nut on the wrong seat touches on a line and works loose"
    return Check(
        wheel=wheel.name, item="lug seat", ordered=want, measured=wheel.lug_seat or "", finding=finding, why=why
    )


def _plain(seat: str) -> str:
    words = seat.lower().replace("degrees", "deg").replace("°", " deg").replace("-", " ").replace("conical", "cone")
    return " ".join(sorted(words.replace("taper", "cone").split()))


def _thread(want: Thread, wheel: Measured) -> list[Check]:
    checks = []
    if wheel.thread is None:
        finding, why = UNREAD, "not tried yet: run a known nut on by hand, all the way"
    elif wheel.thread == want:
        finding, why = WITHIN, "same thread"
    else:
        finding, why = OUTSIDE, "another thread: never force a nut that does not run on by hand"
    measured = "" if wheel.thread is None else str(wheel.thread)
    checks.append(
        Check(wheel=wheel.name, item="thread", ordered=str(want), measured=measured, finding=finding, why=why)
    )
    return [*checks, _engaged(wheel.thread or want, wheel)]


def _engaged(thread: Thread, wheel: Measured) -> Check:
    """Thread engagement against one stud diameter: what a trade page quotes as the SAE's advice, common practice."""
    need = f"at least {thread.least_engagement_mm:.1f} mm, {thread.turns:.1f} turns"
    found = wheel.engagement_mm
    if found is None and wheel.engagement_turns is not None:
        found = thread.engaged_mm(wheel.engagement_turns)
    if found is None:
        return Check(
            wheel=wheel.name,
            item="thread engagement",
            ordered=need,
            measured="",
            finding=UNREAD,
            why="not counted yet: count the turns from first bite to seated",
        )
    # Turns are counted to a quarter, so the engagement is read to a quarter of the pitch.
    reading = thread.pitch_mm / 4
    short = thread.least_engagement_mm - found
    finding = WITHIN if short <= 0 else OUTSIDE if short > reading else OPEN
    why = {
        WITHIN: "one diameter or more (common practice)",
        OPEN: "within a quarter turn of one diameter: count again",
        OUTSIDE: f"{short:.1f} mm short of one diameter: longer studs, another nut, or another wheel",
    }[finding]
    return Check(
        wheel=wheel.name,
        item="thread engagement",
        ordered=need,
        measured=f"{found:.1f} mm, {found / thread.pitch_mm:.1f} turns",
        finding=finding,
        why=why,
        difference_mm=-short,
        reading_mm=reading,
    )


_WIDTHS = ("bead seat width", "overall width")


def _that_agree(order: Order, wheel: Measured, checks: list[Check]) -> list[Check]:
    """The same; where two readings of one wheel do not agree, or one is the other's, neither sends it back."""
    doubt = _doubt(order, wheel)
    if not doubt:
        return checks
    return [
        replace(check, finding=OPEN, why=f"{check.why}; {doubt}")
        if check.item in _WIDTHS and check.finding != UNREAD
        else check
        for check in checks
    ]


def _doubt(order: Order, wheel: Measured) -> str:
    """What is wrong with the widths of one wheel; empty where nothing is.

    A flange is at least 11 mm across by standard (JIS D 4218:2021 table 3, J contour; 10 mm for B), 12.7 mm usual.
    """
    between, over = wheel.width_mm, wheel.overall_width_mm
    if between is not None and over is not None and not 9.0 <= (over - between) / 2 <= 20.0:
        return f"the two widths leave flanges of {both((over - between) / 2)}: one was read elsewhere"
    if over is None and between is not None and _as_other(order, "overall_width", between, order.overall_width_mm):
        return "that is what it should be over the flanges: read both widths"
    return ""


def _as_other(order: Order, item: str, found_mm: float, other_mm: float) -> bool:
    return abs(found_mm - other_mm) <= order.tolerance_mm(item)


def _against_each_other(order: Order, wheels: Sequence[Measured]) -> Iterator[str]:
    """Which wheel is not as the others of its set: one sentence each."""
    items: list[tuple[str, str, Callable[[Measured], float | None]]] = [(i, w, m) for i, w, _, m in _LENGTHS]
    items.append(("bolt_circle", "bolt circle", lambda m: None if m.holes is None else circle_from_holes_mm(m.holes)))
    for item, words, measured in items:
        found = {wheel.name: value for wheel in wheels if (value := measured(wheel)) is not None}
        if len(found) < 2:
            continue
        read_as = "hole" if item == "bolt_circle" else item
        hidden = {wheel.name: order.tolerance_mm(item) + wheel.reading_mm(read_as) for wheel in wheels}
        yield from _odd_ones(words, found, hidden)


def _odd_ones(words: str, found: Mapping[str, float], hidden_mm: Mapping[str, float]) -> Iterator[str]:
    if len(found) == 2:
        yield from _two_apart(words, found, hidden_mm)
        return
    middle = statistics.median(found.values())
    for name, value in found.items():
        off = value - middle
        if abs(off) > hidden_mm[name]:
            yield (
                f"{name}: its {words} is {fine(abs(off))} {'more' if off > 0 else 'less'} than the middle of the"
                f" {len(found)} that were read."
            )


def _two_apart(words: str, found: Mapping[str, float], hidden_mm: Mapping[str, float]) -> Iterator[str]:
    """Of two alone neither is the odd one."""
    (one, here), (other, there) = found.items()
    if abs(here - there) > hidden_mm[one] + hidden_mm[other]:
        yield f"{one} and {other}: they differ by {fine(abs(here - there))} in {words}."


def cautions(order: Order, wheels: Sequence[Measured] = ()) -> tuple[str, ...]:
    """What to know before a tire is mounted on any of them."""
    seats = {_plain(w.lug_seat) for w in wheels if w.lug_seat is not None}
    known = [
        CAUTION,
        "Count the turns with the wheel seated on the hub. A cone, a ball and a flat seat never share nuts.",
        "Before a tire goes on: the wheel's load rating against the axle, its fit on the hub and over the brake.",
    ]
    if len(seats) > 1:
        known.insert(0, "These wheels do not all have the same lug seat: keep their nuts apart.")
    if order.center_bore_mm is None:
        known.append("No center bore was ordered: a bore smaller than the hub's nose holds the wheel off its face.")
    return tuple(known)
