"""What can be had: a list of tires on wheels, each put on the car, ranked by what matters to whoever buys.

Every row is put on every corner that it is for and looked at through what the wheel sees of the well (see `seen`):
that look is never below the truth, so a row that it refuses is refused by a real point. What is left is certified over
the whole cycle of every corner, best first, until enough have cleared. A row that cannot be read, or that no rim
permits, is not answered, and is listed with its line, its column and why.

* fill        - the largest diameter first
* rubber      - the widest section first
* speedometer - the nearest to the turns of what is on the car now
* price       - the cheapest first; rows without one last
* room        - the most left over, of those that were certified

Lengths are millimetres; rims inches. Prices have the list's own money.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from clearance.answers.checked import Progress, binding, gaps_of, silent, spare_of
from clearance.answers.seen import seen_by_wheel
from clearance.answers.seen_at_once import Outline, Rings, rings_of
from clearance.answers.slid import MOST_OFFSET_MM, Mount, Mounts
from clearance.answers.swap import Swap, against_now
from clearance.answers.tires import listed_widths, rim_of
from clearance.errors import FileError, InputError, TireError
from clearance.gap.found import Gap
from clearance.mockup.car import AXLES
from clearance.opener import rows_in
from clearance.plain import echoed, quoted
from clearance.steady import steady
from clearance.tire.catalog import Listed
from clearance.tire.size import read as read_marking
from clearance.units import MM_PER_INCH, SAME_RIM_IN, length_mm

if TYPE_CHECKING:
    from clearance.mockup.car import Car
    from clearance.mockup.mockup import MockUp
    from clearance.tire.tire import Tire
    from clearance.wheel.wheel import Wheel

COLUMNS = ("tire", "width", "backspace", "offset", "axle", "overall_diameter", "section_width", "price", "note")
ORDERS = ("fill", "rubber", "speedometer", "price", "room")
MOST_ROWS = 20_000
MOST_LETTERS = 120


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One tire on one wheel that can be had."""

    line: int
    """Where it stands in the list."""
    tire: Listed
    width_in: float
    offset_mm: float | None
    backspace_mm: float | None
    """One of the two."""
    axle: str | None
    """ "front" or "rear" where it is for one alone."""
    price: float | None
    note: str

    @property
    def name(self) -> str:
        """As a counter would say it."""
        return f"{self.tire.size} on {self.tire.marking.rim_in:g} x {self.width_in:g}"


@dataclass(frozen=True, slots=True, kw_only=True)
class NotAnswered:
    """A row that nothing can be said of, and why."""

    line: int
    column: str
    why: str


@dataclass(frozen=True, slots=True)
class Place:
    """A row on one corner: the tire on its rim there, and the offset that the row says."""

    like: MockUp
    """The corner as it is described."""
    mount: Mount
    offset_mm: float

    @property
    def outline(self) -> Outline:
        """Of tire and rim, for every offset that slides them."""
        return self.mount.outline

    @property
    def shifted_mm(self) -> float:
        """How far outboard of where it is drawn it stands."""
        return self.mount.outline.offset_mm - self.offset_mm

    @property
    def tire(self) -> Tire:
        """On this rim."""
        return self.mount.tire

    @property
    def wheel(self) -> Wheel:
        """Drilled for the row's offset."""
        rim = rim_of(self.like.wheel, self.mount.wheel.width_in, self.mount.wheel.diameter_in)
        return rim.with_offset(self.offset_mm)

    @property
    def corner(self) -> MockUp:
        """As it would stand on the car."""
        return replace(self.like, tire=self.mount.tire, wheel=self.wheel)


Put = Mapping[str, Place]
"""A row on every corner that it is for."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Tried:
    """What a row does on the car."""

    row: Row
    backspace_mm: float
    offset_mm: float
    overall_mm: float
    section_mm: float
    certified: bool
    """Measured over the whole cycle of every corner; else refused by a real point."""
    clears: bool
    corner: str
    """Where it is tightest."""
    spare_mm: float
    """What the tightest part has left there beyond its required gap; of a row that was refused, at most that."""
    binds: Gap | None
    """That part's gap; None of a row that was refused."""
    swap: Swap | None
    """Against what is on the car now, at the tightest corner; None where no [now] says."""
    places: Put
    """It on every corner that it is for."""

    def on_car(self, car: Car) -> Car:
        """The car with it on those corners, and the others as they are described."""
        put = {name: self.places[name].corner if name in self.places else car.at(name) for name in car.corners}
        return replace(car, corners=put)


@dataclass(frozen=True, slots=True, kw_only=True)
class Candidates:
    """The list, answered."""

    tried: tuple[Tried, ...]
    """Those that clear first, in the order asked for."""
    not_reached: tuple[Row, ...]
    """May clear, and stood too far down to be certified."""
    not_answered: tuple[NotAnswered, ...]
    by: str


# ---- the list


def rows_from_csv(text: str, *, name: str) -> tuple[tuple[Row, ...], tuple[NotAnswered, ...]]:
    """The rows of a list, and those that cannot be read.

    Raises InputError for a list that is none: no heading, a column that is not known, too many rows.
    """
    header, lines = _lines(text.lstrip("\ufeff"), name)
    if len(lines) > MOST_ROWS:
        raise InputError(f"{name}: {len(lines):,} rows are more than the {MOST_ROWS:,} that are gone through.")
    rows: list[Row] = []
    wrong_rows: list[NotAnswered] = []
    for line, cells in lines:
        try:
            rows.append(_row(line, _record(header, cells)))
        except BadCell as bad:
            wrong_rows.append(NotAnswered(line=line, column=bad.column, why=bad.why))
    if not rows and not wrong_rows:
        raise InputError(f"{name}: there is no row in it. Write one tire on one wheel a line.")
    return tuple(rows), tuple(wrong_rows)


def _lines(text: str, name: str) -> tuple[tuple[str, ...], list[tuple[int, tuple[str, ...]]]]:
    """The heading, and each row with its line; a row of another length is for whoever reads it. Raises InputError."""
    try:
        every = rows_in(text, name)
    except FileError as wrong:
        at = f": line {wrong.line}" if wrong.line else ""
        raise InputError(f"{name}{at}: {wrong.reason}") from None
    header = tuple(cell.strip() for cell in every[0].cells) if every else ()
    _refuse_heading(header, name)
    return header, [(row.line, row.cells) for row in every[1:]]


def _record(header: Sequence[str], cells: Sequence[str]) -> Mapping[str, str]:
    """A row as column: cell; what its writer left off at its end is empty."""
    if any(cell.strip() for cell in cells[len(header) :]):
        raise BadCell(
            header[-1] or "after the last",
            f"the row has {len(cells)} cells and the heading {len(header)}. Put a cell that holds a comma between"
            " quotation marks.",
        )
    filled = (*cells, *[""] * (len(header) - len(cells)))
    return {name: cell.strip() for name, cell in zip(header, filled, strict=False) if name}


def _refuse_heading(header: Sequence[str], name: str) -> None:
    for column in ("tire", "width"):
        if column not in header:
            raise InputError(f"{name}: line 1 has no column `{column}`. Write a heading: {','.join(COLUMNS)}.")
    for column in header:
        if column and header.count(column) > 1:
            raise InputError(f"{name}: line 1: two columns are called {quoted(column)}. Keep one.")
        if column and column not in COLUMNS:
            raise InputError(f"{name}: line 1: the column {quoted(column)} is not known. Known: {', '.join(COLUMNS)}.")


def one_line(words: str) -> str:
    """A reason on one line of the list."""
    return " ".join(words.split())


class BadCell(Exception):  # noqa: N818 - a finding that never leaves the rooms that read lists
    """What is wrong with a row, and in which column."""

    def __init__(self, column: str, why: str) -> None:
        self.column = column
        self.why = one_line(why)
        super().__init__(why)


def _row(line: int, record: Mapping[str, str]) -> Row:
    offset_mm, backspace_mm = _length(record, "offset"), _length(record, "backspace")
    if (offset_mm is None) == (backspace_mm is None):
        raise BadCell("backspace", "write a backspace or an offset, and not both.")
    axle = record.get("axle", "").lower() or None
    if axle not in (None, *AXLES):
        raise BadCell("axle", f"{echoed(axle)} is no axle. Write front, rear or nothing.")
    width_mm = _length(record, "width")
    if width_mm is None:
        raise BadCell("width", 'the rim\'s width is missing. Write it as "7 in".')
    tire = _tire(record)
    row = Row(
        line=line,
        tire=tire,
        width_in=round(width_mm / MM_PER_INCH, 4),
        offset_mm=offset_mm,
        backspace_mm=backspace_mm,
        axle=axle,
        price=_price(record),
        note=record.get("note", "")[:MOST_LETTERS],
    )
    _refuse_rim(row)
    return row


def _tire(record: Mapping[str, str]) -> Listed:
    try:
        marking = read_marking(record.get("tire", ""))
    except TireError as wrong:
        raise BadCell("tire", str(wrong)) from None
    return Listed(
        marking=marking,
        overall_diameter_mm=_length(record, "overall_diameter"),
        section_width_mm=_length(record, "section_width"),
        load_index=marking.load_index,
        source="the list",
    )


def _refuse_rim(row: Row) -> None:
    try:
        widths = listed_widths(row.tire)
    except TireError as wrong:
        raise BadCell("tire", str(wrong)) from None
    if widths and not min(widths) - SAME_RIM_IN <= row.width_in <= max(widths) + SAME_RIM_IN:
        raise BadCell("width", f"a {row.tire.size} goes on rims of {min(widths):g} to {max(widths):g} in.")


def _length(record: Mapping[str, str], column: str) -> float | None:
    text = record.get(column, "")
    if not text:
        return None
    try:
        mm = length_mm(text)
    except InputError as wrong:
        raise BadCell(column, str(wrong)) from None
    if column != "offset" and mm <= 0:
        raise BadCell(column, f"{echoed(text)} must be more than zero.")
    return mm


def _price(record: Mapping[str, str]) -> float | None:
    text = record.get("price", "")
    if not text:
        return None
    try:
        price = float(text)
    except ValueError:
        price = math.nan
    if not 0 <= price < 1e9:
        raise BadCell("price", f"{echoed(text)} is no price. Write a plain number.")
    return price


# ---- on the car


@steady
def candidates(
    car: Car,
    rows: Sequence[Row],
    not_answered: Sequence[NotAnswered] = (),
    *,
    by: str = "fill",
    enough: int = 10,
    progress: Progress = silent,
) -> Candidates:
    """Every row on every corner that it is for.

    Raises InputError for an order that is not known, or by the speedometer where nothing says what is on the car.
    """
    _refuse_order(car, by)
    missing = list(not_answered)
    put: list[tuple[Row, Put]] = []
    rack = Rack(car)
    for done, row in enumerate(rows):
        progress(done, len(rows), "rows put on the car")
        try:
            put.append((row, rack.put(row)))
        except BadCell as bad:
            missing.append(NotAnswered(line=row.line, column=bad.column, why=bad.why))
        except InputError as wrong:
            missing.append(NotAnswered(line=row.line, column="tire", why=one_line(str(wrong))))
    open_, refused = _looked_at(car, put, progress)
    open_.sort(key=lambda one: (*_rank(by, *one), one[0].line))
    certified, reached = _certified(open_, by, enough, progress)
    tried = sorted(certified, key=lambda one: not one.clears)
    if by == "room":
        tried.sort(key=lambda one: (not one.clears, -round(one.spare_mm, 2), one.row.line))
    return Candidates(
        tried=(*tried, *sorted(refused, key=lambda one: (-round(one.spare_mm, 2), one.row.line))),
        not_reached=tuple(row for row, _ in open_[reached:]),
        not_answered=tuple(sorted(missing, key=lambda one: one.line)),
        by=by,
    )


def _refuse_order(car: Car, by: str) -> None:
    if by not in ORDERS:
        raise InputError(f"{echoed(by)} is not an order. Rank by one of: {', '.join(ORDERS)}.")
    if by == "speedometer" and all(corner.terms.now is None for corner in car.corners.values()):
        raise InputError("the speedometer is compared with what is on the car now, and no [now] says it.")


class Rack:
    """Tires on rims, each mounted once for all corners that mount it alike: only the offset differs from row to row."""

    def __init__(self, car: Car) -> None:
        self.car = car
        self.mounts = Mounts()

    def put(self, row: Row) -> Put:
        """The row on its corners. Raises InputError, and BadCell for a cell that cannot stand."""
        names = [name for name in self.car.corners if row.axle is None or name.startswith(row.axle)]
        if not names:
            raise BadCell("axle", f"no corner of the {row.axle} axle is described.")
        return {name: self._place(name, row) for name in names}

    def _place(self, name: str, row: Row) -> Place:
        like = self.car.corners[name]
        rim = self.mounts.rim(like, row.tire, row.width_in)
        offset_mm = offset_of(row, rim.wheel)
        return Place(like, rim.at(offset_mm), offset_mm)


def offset_of(row: Row, wheel: Wheel) -> float:
    """The offset that a row says, on this rim. Raises BadCell for one that no wheel has."""
    offset_mm = row.offset_mm
    if offset_mm is None:
        offset_mm = (row.backspace_mm or 0.0) - wheel.overall_width_mm / 2
    if abs(offset_mm) > MOST_OFFSET_MM:
        column = "offset" if row.backspace_mm is None else "backspace"
        try:
            wheel.with_offset(offset_mm)
        except InputError as wrong:
            raise BadCell(column, one_line(str(wrong))) from None
    return offset_mm


def _looked_at(
    car: Car, put: Sequence[tuple[Row, Put]], progress: Progress
) -> tuple[list[tuple[Row, Put]], list[Tried]]:
    """The rows that may clear, and those that a real point refuses."""
    rings = {name: _rings(corner, {on[name] for _, on in put if name in on}) for name, corner in car.corners.items()}
    open_, refused = [], []
    known: dict[tuple[str, Place], float] = {}
    for done, (row, on) in enumerate(put):
        progress(done, len(put), "rows looked at")
        for name, place in on.items():
            if (name, place) not in known:
                known[name, place] = rings[name].spare_mm(place.outline, place.shifted_mm)
        spares = {name: known[name, place] for name, place in on.items()}
        worst = min(spares, key=lambda name: spares[name])
        if spares[worst] < 0.0:
            refused.append(_tried(row, on, worst, spares[worst], None, clears=False))
        else:
            open_.append((row, on))
    return open_, refused


def _rings(corner: MockUp, places: Collection[Place]) -> Rings:
    if not places:
        return rings_of(())
    far = max(place.outline.reach_at_mm(place.shifted_mm) for place in places)
    return rings_of(seen_by_wheel(corner, within_mm=far + MM_PER_INCH))


def _certified(open_: Sequence[tuple[Row, Put]], by: str, enough: int, progress: Progress) -> tuple[list[Tried], int]:
    """Measured over the whole cycle, in this order, until enough have cleared; and how many were reached."""
    found: list[Tried] = []
    for done, (row, on) in enumerate(open_):
        if sum(one.clears for one in found) >= enough and by != "room":
            return found, done
        progress(done, len(open_), f"certifying {row.name}")
        clears = all(spare_of(place.corner).clears for place in on.values())
        gaps = {name: binding(gaps_of(place.corner)) for name, place in on.items()}
        worst = min(gaps, key=lambda name: gaps[name].spare_mm)
        found.append(_tried(row, on, worst, gaps[worst].spare_mm, gaps[worst], clears=clears))
    return found, len(open_)


def _tried(row: Row, on: Put, worst: str, spare_mm: float, binds: Gap | None, *, clears: bool) -> Tried:
    corner = on[worst].corner
    return Tried(
        row=row,
        backspace_mm=corner.wheel.backspace_mm,
        offset_mm=corner.wheel.offset_mm,
        overall_mm=corner.tire.overall_diameter_mm,
        section_mm=corner.tire.section_width_mm,
        certified=binds is not None,
        clears=clears,
        corner=worst,
        spare_mm=spare_mm,
        binds=binds,
        swap=against_now(corner),
        places=on,
    )


def _rank(by: str, row: Row, on: Put) -> tuple[float, ...]:
    tire = next(iter(on.values())).tire
    ranks: Mapping[str, Callable[[], tuple[float, ...]]] = {
        "fill": lambda: (-round(tire.overall_diameter_mm, 1), -round(tire.section_width_mm, 1)),
        "rubber": lambda: (-round(tire.section_width_mm, 1), -round(tire.overall_diameter_mm, 1)),
        "price": lambda: (math.inf if row.price is None else row.price,),
        "speedometer": lambda: (_off_speed(on),),
        "room": lambda: (),
    }
    return ranks[by]()


def _off_speed(on: Put) -> float:
    """How far the worst corner's speedometer is off, as a fraction."""
    swaps = [against_now(place.corner) for place in on.values()]
    return max((abs(swap.speed) for swap in swaps if swap is not None), default=math.inf)
