"""One wheel for several corners, as a fabricator reads it."""

from __future__ import annotations

from collections.abc import Sequence

from clearance.answers.shared import Shared, SharedEnd, SharedOnWidth, SharedWindow
from clearance.mockup.car import Car
from clearance.units import MM_PER_INCH, both, inch_inside, inch_text
from clearance.words.text import car_head, notes_by_corner, position_words, table


def page(car: Car, found: Sequence[SharedWindow]) -> str:
    """Axle by axle, and then all corners where one wheel may serve them all."""
    lines = [*car_head(car), *notes_by_corner({name: corner.warnings for name, corner in car.corners.items()})]
    for one in found:
        lines += [_heading(one), _table(car, one), "", *(f"  {words}" for words in _sides(one)), _sentence(one), ""]
    lines.append("Ends are exact to 0.1 mm and were measured again at every corner named, over its whole cycle.")
    return "\n".join(lines)


def _heading(one: SharedWindow) -> str:
    return f"{one.what}: {', '.join(one.windows)}"


def _table(car: Car, one: SharedWindow) -> str:
    rows = []
    for row in one.widths:
        name = f"{row.width_in:.3g} in"
        for stretch in row.stretches:
            rows.append([name, "shallowest", *_cells(stretch.least, shallow=True), _binds(car, stretch.least)])
            rows.append(["", "deepest", *_cells(stretch.most, shallow=False), _binds(car, stretch.most)])
            rows.append(
                [
                    "",
                    "middle",
                    *_middle(stretch),
                    f"{both(stretch.middle_spare_mm)} to spare, least at {stretch.middle_corner}",
                ]
            )
        if not row.stretches:
            rows.append([name, "nothing", "", "", "", _why_none(row)])
    return table(["rim", "", "backspace", "to 1/16", "offset", "stopped by"], rows)


def _cells(end: SharedEnd, *, shallow: bool) -> list[str]:
    mm = end.end.backspace_mm
    return [f"{mm / MM_PER_INCH:.3f} in", inch_inside(mm, at_least=shallow), f"{end.end.offset_mm:+.1f} mm"]


def _middle(stretch: Shared) -> list[str]:
    mm = stretch.middle_backspace_mm
    return [f"{mm / MM_PER_INCH:.3f} in", inch_text(mm), f"{stretch.middle_offset_mm:+.1f} mm"]


def _binds(car: Car, end: SharedEnd) -> str:
    if end.end.binds is None:
        return f"limit of what may be ordered, {end.corner}"
    return f"{end.corner}: {end.end.binds.part}, {position_words(car.at(end.corner), end.end.binds)}"


def _why_none(row: SharedOnWidth) -> str:
    without = [name for name, side in row.sides.items() if not side.stretches]
    if without:
        return f"nothing clears at {' and '.join(without)}"
    return "each corner has its own window, and they do not meet"


def _sides(one: SharedWindow) -> list[str]:
    """How far an axle stands off the middle, and what moving it would give."""
    said = []
    for row in one.widths:
        if row.off_mm is None or abs(row.off_mm) < 0.5:
            continue
        way = "left" if row.off_mm > 0 else "right"
        words = f"On {row.width_in:.3g} in the two sides differ by {both(2 * abs(row.off_mm))}: the axle stands"
        words += f" {both(abs(row.off_mm))} to the {way} of where both would have the same window."
        if row.centred is not None:
            wider = row.centred.most_offset_mm - row.centred.least_offset_mm
            words += (
                f" Moved to the {'right' if way == 'left' else 'left'} by that, both share {both(wider)} of offset,"
            )
            words += f" {row.centred.least_offset_mm:+.1f} to {row.centred.most_offset_mm:+.1f} mm, measured so."
        said += [words, ""]
    return said


def _sentence(one: SharedWindow) -> str:
    past = one.given_past_mm()
    if past is None:
        return f"{one.what}: no backspace of the width given clears at all of them."
    if past <= 0:
        return f"{one.what}: the wheels given are inside, {both(-past)} from the nearer end."
    return f"{one.what}: the wheels given are outside by {both(past)}."
