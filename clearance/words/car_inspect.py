"""A car's wheels in their boxes: wheel by wheel, then which goes where, then what to write to the seller."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING

from clearance.units import both
from clearance.wheel.decided import KEEP
from clearance.words.inspect import check_table
from clearance.words.text import car_head, notes_by_corner, table

if TYPE_CHECKING:
    from clearance.answers.car_received import CarReceived, KindReceived, Stand
    from clearance.mockup.car import Car

ALIKE_MM = 0.1
"""Rooms that differ by less are said to be the same: no tape would tell."""


def page(car: Car, received: CarReceived) -> str:
    """Everything that was found, and what to do next."""
    lines = [f"Wheels in their boxes: {car.title}", *car_head(car)[1:]]
    lines += notes_by_corner({name: corner.warnings for name, corner in car.corners.items()})
    for kind in received.kinds:
        lines += _wheels(kind)
    for kind in received.kinds:
        lines += _places(kind)
    lines += _letters(received)
    return "\n".join([*lines, _last(received), *(f"- {caution}" for caution in received.cautions)])


def _wheels(kind: KindReceived) -> Iterator[str]:
    for one in kind.wheels:
        at = kind.placing.get(one.wheel)
        goes = f", to the {_plainly(at)}" if at and one.verdict == KEEP else ""
        yield f"  {one.wheel}: {one.verdict.upper()}{goes}"
        yield f"    {one.why}."
        yield check_table(kind.found.of(one.wheel))
        yield ""
    yield from (f"- {remark}" for remark in kind.found.remarks)
    if kind.found.remarks:
        yield ""


# ---- which wheel goes where


def _places(kind: KindReceived) -> list[str]:
    if not kind.stands:
        return []
    names = kind.kind.corner_names
    whose = f", {kind.kind.name}" if kind.kind.name else ""
    lines = [f"Which wheel goes where{whose}: what each surely has to spare, whatever its readings hide", ""]
    rows = []
    for wheel in dict.fromkeys(stand.wheel for stand in kind.stands):
        mine = {stand.corner: stand for stand in kind.stands if stand.wheel == wheel}
        rows.append([wheel, *(_room(mine[name]) for name in names), _goes(kind, wheel)])
    lines += [table(["wheel", *names, "goes to"], rows), ""]
    return [*lines, *_said(kind), ""]


def _room(stand: Stand) -> str:
    if not stand.told:
        return "not told to clear"
    if not math.isfinite(stand.left.room_mm):
        return "nothing near" if stand.left.room_mm > 0 else "not known"
    if stand.left.room_mm < 0:
        return f"short by {_at_most(-stand.left.room_mm)}"
    return f"{both(stand.left.room_mm)}, {stand.left.part}"


def _goes(kind: KindReceived, wheel: str) -> str:
    at = kind.placing.get(wheel)
    if at is None:
        return "nowhere"
    verdict = next(one.verdict for one in kind.wheels if one.wheel == wheel)
    return at if verdict == KEEP else f"{at}, once it is kept"


def _said(kind: KindReceived) -> Iterator[str]:
    tightest = min(
        (stand for wheel in kind.placing if (stand := kind.stand(wheel)) is not None),
        key=lambda stand: stand.left.room_mm,
        default=None,
    )
    if tightest is not None and math.isfinite(kind.least_mm):
        yield (
            f"So placed the tightest is {tightest.wheel} at the {_plainly(tightest.corner)}: {both(kind.least_mm)} more"
            f" than what must be kept there ({tightest.left.part}). {_otherwise(kind)}"
        )
    for name in kind.free:
        yield f"No wheel goes to the {_plainly(name)} yet."


def _otherwise(kind: KindReceived) -> str:
    """What the same wheels have however they are put on."""
    if len(kind.kind.corners) < 2:
        return ""
    if kind.least_any_mm < 0:
        return f"Put on otherwise one may be short by {_at_most(-kind.least_any_mm)}: mark each wheel."
    if kind.least_mm - kind.least_any_mm < ALIKE_MM:
        return "It makes no difference which of them goes where."
    return f"Put on otherwise it may be {both(kind.least_any_mm)}: mark each wheel."


# ---- what to do


def _letters(received: CarReceived) -> Iterator[str]:
    letters = [letter for kind in received.kinds for letter in kind.to_seller]
    if letters:
        yield "To write to the seller before a tire is mounted:"
        yield ""
    for one in letters:
        yield f"  {one.text}"
        yield ""


def _last(received: CarReceived) -> str:
    wheels = [one for kind in received.kinds for one in kind.wheels]
    count = sum(len(kind.kind.corners) for kind in received.kinds)
    kept = sum(one.verdict == KEEP for one in wheels)
    return (
        f"{kept} of {count} to keep: {received.verdict}. Mount no tire until every wheel is kept: a mounted wheel is"
        " not taken back."
    )


def _at_most(short_mm: float) -> str:
    """How much is wanting; never nothing where something is."""
    return both(short_mm) if short_mm >= 0.05 else "less than 0.1 mm"


def _plainly(corner: str) -> str:
    return corner.replace("-", " ")
