"""A list of what can be had, answered, as a person at the counter reads it."""

from __future__ import annotations

from clearance.answers.candidates import Candidates, Tried
from clearance.answers.stance import stance_of
from clearance.mockup.car import Car
from clearance.units import both
from clearance.words.stance import brief
from clearance.words.text import car_head, notes_by_corner, position_words, table

_BY = {
    "fill": "the largest first",
    "rubber": "the widest first",
    "speedometer": "the speedometer's nearest first",
    "price": "the cheapest first",
    "room": "the most room first",
}


def page(car: Car, found: Candidates) -> str:
    """What clears first, then what does not, then what was not answered."""
    lines = [*car_head(car), *notes_by_corner({name: corner.warnings for name, corner in car.corners.items()})]
    clear = [one for one in found.tried if one.clears]
    if clear:
        lines += [f"These clear, {_BY[found.by]}:", table(_HEAD, [_row(car, one) for one in clear]), ""]
        lines += _against_now(car, clear)
    lines += _not_clear(car, [one for one in found.tried if not one.clears])
    if found.not_reached:
        lines += [f"Not reached, and may clear: {len(found.not_reached)} rows. Ask for more with --enough.", ""]
    return "\n".join([*lines, *_not_answered(found), _sentence(found, clear)])


def _against_now(car: Car, rows: list[Tried]) -> list[str]:
    """What each changes of what the car stands on now; nothing where no [now] says what that is."""
    lines = []
    for one in rows:
        said = brief(stance_of(one.on_car(car)))
        lines += [f"  line {one.row.line}, {one.row.name}", *(f"    {words}" for words in said)] if said else []
    return ["Against what is on the car now:", *lines, ""] if lines else []


def _not_clear(car: Car, rows: list[Tried]) -> list[str]:
    if not rows:
        return []
    return ["These do not:", table(_HEAD, [_row(car, one) for one in rows[:MOST_SHOWN]]), *_more(len(rows)), ""]


def _not_answered(found: Candidates) -> list[str]:
    if not found.not_answered:
        return []
    rows = [f"  line {one.line}, {one.column}: {one.why}" for one in found.not_answered[:MOST_SHOWN]]
    return ["Not answered:", *rows, *_more(len(found.not_answered)), ""]


def _more(count: int) -> list[str]:
    return [f"  and {count - MOST_SHOWN} more"] if count > MOST_SHOWN else []


MOST_SHOWN = 20
_HEAD = ["line", "tire on rim", "backspace", "high", "tightest", "left over", "price", ""]


def _row(car: Car, one: Tried) -> list[str]:
    where = one.corner
    if one.binds is not None:
        where += f": {one.binds.part}, {position_words(car.at(one.corner), one.binds)}"
    left = both(one.spare_mm) if one.certified else f"at most {both(one.spare_mm)}"
    price = "" if one.row.price is None else f"{one.row.price:g}"
    speed = "" if one.swap is None else f"speedometer {100 * one.swap.speed:+.1f} % true"
    more = "; ".join(words for words in (speed, one.row.note) if words)
    return [str(one.row.line), one.row.name, both(one.backspace_mm), both(one.overall_mm), where, left, price, more]


def _sentence(found: Candidates, clear: list[Tried]) -> str:
    if not clear:
        return "Nothing on the list clears at every corner that it is for."
    first = clear[0]
    return (
        f"{first.row.name}, backspace {both(first.backspace_mm)}, line {first.row.line}: {both(first.spare_mm)} over"
        " what must be kept at the tightest place of all corners that it is for, certified over their whole cycles."
    )
