"""Wheels that change places, and the spare, as facts."""

from __future__ import annotations

from typing import Any

from clearance.answers.rotated import WAYS, WORST, Carried, Going, Rotated
from clearance.facts.gap import gap_json, gap_shape
from clearance.facts.shape import CORNER, Shape, answer, flag, maybe, mm, number, one_of, rows, table, text
from clearance.mockup.car import Car

FORMAT = "clearance-rotate/1"


def facts(car: Car, found: Rotated) -> dict[str, Any]:
    """Everything that the page says."""
    return {
        "format": FORMAT,
        "title": car.title,
        "cautions": list(car.cautions),
        "kinds": [{"name": kind.name, "corners": list(kind.home)} for kind in found.kinds],
        "goings": [_going(car, one) for one in found.goings],
        "ways": [
            {
                "way": way,
                "verdict": found.verdict_of(way),
                "alike": found.alike(way),
                "moves": [{"from": home, "to": corner} for home, corner in found.way(way)],
            }
            for way in WAYS
        ],
        "spare": None if found.carried is None else _carried(car, found.carried, found.spare),
    }


def _going(car: Car, one: Going) -> dict[str, Any]:
    return {
        "wheel": one.wheel,
        "from": list(one.home),
        "corner": one.corner,
        "at_home": one.at_home,
        "verdict": one.verdict,
        "refused": one.refused,
        "tightest": None if one.worst is None else gap_json(car.at(one.corner), one.worst),
    }


def _carried(car: Car, carried: Carried, goings: tuple[Going, ...]) -> dict[str, Any]:
    return {
        "name": carried.name,
        "temporary": carried.temporary,
        "speed_kmh": carried.speed_kmh,
        "load_kg": carried.load_kg,
        "too_heavy": list(carried.too_heavy),
        "not_said": list(carried.missing),
        "goings": [_going(car, one) for one in goings],
        "stands": [
            {
                "corner": one.corner,
                "hub_height": round(one.hub_mm, 2) + 0.0,
                "rolls_percent": round(100 * one.rolls, 3) + 0.0,
                "against_other_percent": None if one.against_other is None else round(100 * one.against_other, 3) + 0.0,
            }
            for one in carried.stands
        ],
    }


_GOING: Shape = table(
    "one kind of wheel at one corner",
    wheel=text("its marking, on its rim"),
    **{"from": rows("where it stands by the file; none of a spare", CORNER)},
    corner=CORNER,
    at_home=flag("whether its like stands there already"),
    verdict=one_of("of the tightest part; refused where it cannot be bolted on", *WORST),
    refused=text("why it cannot be bolted on; empty where it can"),
    tightest=maybe(gap_shape("the part that decides"), "where nothing was measured"),
)
SHAPE = answer(
    FORMAT,
    "wheels that change places on a car, and the spare",
    title=text("of the car"),
    cautions=rows("what applies to this car", text("one of them")),
    kinds=rows(
        "wheels that are alike",
        table("one kind", name=text("its marking, on its rim"), corners=rows("where they stand by the file", CORNER)),
    ),
    goings=rows("each kind at every corner", _GOING),
    ways=rows(
        "the ways in which wheels change places",
        table(
            "one way",
            way=one_of("which", *WAYS),
            verdict=maybe(one_of("the worst of its moves", *WORST), "where no two corners of it are described"),
            alike=flag("whether each wheel goes where its like stands already"),
            moves=rows("its moves", table("one wheel", **{"from": CORNER, "to": CORNER})),
        ),
    ),
    spare=maybe(
        table(
            "the spare",
            name=text("its marking, on its rim"),
            temporary=flag("whether it is marked for temporary use"),
            speed_kmh=maybe(number("the fastest that it may go, km/h"), "where [spare] does not say"),
            load_kg=maybe(number("what it may carry, kg"), "where its size does not say"),
            too_heavy=rows("corners on which more stands by [load]", CORNER),
            not_said=rows("what [spare] lacks before it can be put anywhere", text("a key")),
            goings=rows("it at every corner", _GOING),
            stands=rows(
                "what it does beside its gaps",
                table(
                    "at one corner",
                    corner=CORNER,
                    hub_height=mm("the hub stands higher"),
                    rolls_percent=number("further in a turn than the wheel that it stands in for, percent"),
                    against_other_percent=maybe(
                        number("further in a turn than the wheel at the other side, percent"),
                        "where that corner is not described",
                    ),
                ),
            ),
        ),
        "where no [spare] says anything",
    ),
)
