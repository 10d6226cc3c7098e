"""The wheels of a car in their boxes as facts: one word for each, where each goes, what to write to the seller."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from clearance.facts.inspect import CHECKS, check_json
from clearance.facts.shape import CORNER, FILES, answer, count, flag, maybe, mm, named, one_of, rows, table, text
from clearance.wheel.decided import WORST_FIRST

if TYPE_CHECKING:
    from clearance.answers.car_received import CarReceived, KindReceived, Stand
    from clearance.mockup.car import Car
    from clearance.wheel.decided import Decision

FORMAT = "clearance-car-inspect/1"


def facts(car: Car, received: CarReceived, files: Sequence[str] = ()) -> dict[str, Any]:
    """Everything that the page says; with the names of sheets that were written."""
    return {
        "format": FORMAT,
        "title": car.title,
        "cautions": list(car.cautions),
        "warnings": {name: list(corner.warnings) for name, corner in car.corners.items()},
        "verdict": received.verdict,
        **_of_kinds(received.kinds),
        "before_mounting": list(received.cautions),
        "files": list(files),
    }


def _of_kinds(kinds: Sequence[KindReceived]) -> dict[str, Any]:
    return {
        "kinds": [_kind(kind) for kind in kinds],
        "wheels": [_wheel(kind, one) for kind in kinds for one in kind.wheels],
        "stands": [_stand(one) for kind in kinds for one in kind.stands],
        "checks": [check_json(check) for kind in kinds for check in kind.found.checks],
        "to_seller": [{"wheel": one.wheel, "text": one.text} for kind in kinds for one in kind.to_seller],
    }


def _kind(kind: KindReceived) -> dict[str, Any]:
    return {
        "kind": kind.kind.name,
        "corners": list(kind.kind.corner_names),
        "without_wheel": list(kind.free),
        "least": _finite(kind.least_mm),
        "least_otherwise": _finite(kind.least_any_mm),
        "lacking": kind.found.lacking,
        "remarks": list(kind.found.remarks),
    }


def _wheel(kind: KindReceived, one: Decision) -> dict[str, Any]:
    return {
        "wheel": one.wheel,
        "kind": kind.kind.name,
        "verdict": one.verdict,
        "decided_by": one.decided_by,
        "why": one.why,
        "goes_to": kind.placing.get(one.wheel),
    }


def _stand(one: Stand) -> dict[str, Any]:
    return {
        "wheel": one.wheel,
        "corner": one.corner,
        "clears": one.clears,
        "spare": _finite(one.left.room_mm),
        "part": one.left.part,
    }


def _finite(value_mm: float) -> float | None:
    return round(value_mm, 3) if math.isfinite(value_mm) else None


SHAPE = answer(
    FORMAT,
    "one word for every wheel of a car that came, and the corner that it goes to",
    title=text("of the car"),
    cautions=rows("what applies to this car", text("one of them")),
    warnings=named("corner: what to look at before any number is believed", rows("of it", text("one of them"))),
    verdict=one_of("the worst of all of them", *WORST_FIRST),
    kinds=rows(
        "wheels that were ordered alike",
        table(
            "one kind",
            kind=text("what the names of its boxes begin with; empty where the car has one kind"),
            corners=rows("where they may go", CORNER),
            without_wheel=rows("corners that no wheel goes to yet", CORNER),
            least=maybe(mm("what the tightest has left as they are placed"), "where none is placed, or nothing near"),
            least_otherwise=maybe(mm("the least that the same wheels may have, put on otherwise"), "as above"),
            lacking=count("wheels of the order that were not read"),
            remarks=rows("what is to be said of all of them together", text("one of them")),
        ),
    ),
    wheels=rows(
        "one word for each wheel",
        table(
            "one wheel",
            wheel=text("its name"),
            kind=text("its kind"),
            verdict=one_of("what becomes of it", *WORST_FIRST),
            decided_by=text("the item whose number decided, or the part that has no room"),
            why=text("in words"),
            goes_to=maybe(CORNER, "where it goes nowhere; of a wheel that is not kept: once it is"),
        ),
    ),
    stands=rows(
        "every wheel that may stay, at every corner of its kind",
        table(
            "one wheel at one corner",
            wheel=text("its name"),
            corner=CORNER,
            clears=flag("whether it surely clears there, and the corner does with the wheel as ordered"),
            spare=maybe(
                mm("what it surely has left beyond the required gap, whatever its readings hide"), "where none is known"
            ),
            part=text("the part that has it"),
        ),
    ),
    checks=CHECKS,
    to_seller=rows(
        "what to write of each wheel that goes back",
        table("one letter", wheel=text("the wheel's name"), text=text("the letter")),
    ),
    before_mounting=rows("what to know before a tire is mounted", text("one of them")),
    files=FILES,
)
