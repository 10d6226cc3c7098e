"""Cars built at random within their tolerances, as facts."""

from __future__ import annotations

import math
from typing import Any

from clearance.answers.budget import GENERATOR
from clearance.answers.sampled import Sampled
from clearance.facts.shape import answer, count, mm, rows, share, table, text
from clearance.mockup.mockup import MockUp
from clearance.plain import csv_rows

FORMAT = "clearance-sample/1"


def facts(corner: MockUp, found: Sampled) -> dict[str, Any]:
    """What all cars come to; each stands in the table."""
    return {
        "format": FORMAT,
        "title": corner.title,
        "cars": found.cars,
        "not_built": found.not_built,
        "generator": GENERATOR,
        "clear": round(found.clear, 5),
        "parts": [
            {
                "part": one.part,
                "required": round(one.required_mm, 3),
                "gap": round(one.gap_mm, 3),
                "worst": round(one.worst_mm, 3),
                "root_sum_square": round(one.straight_mm, 3),
                "sampled_least": round(one.least_mm, 3),
                "sampled_mean": round(one.mean_mm, 3),
                "sampled_deviation": round(one.spread_mm, 3),
                "below_worst": round(one.below_worst_mm, 3),
                "clear": round(one.clear, 5),
            }
            for one in found.parts
        ],
    }


def csv_text(found: Sampled) -> str:
    """Each car: how far every source is off, and the lower end of every part's gap; nothing of one that cannot be."""
    heads = [f"{source.name} ({source.unit})" for source in found.sources]
    heads += [f"gap of {part.part} at least (mm)" for part in found.parts]
    cars = (
        [round(value, 4) for value in draw] + ["" if math.isnan(value) else round(value, 3) for value in gaps]
        for draw, gaps in zip(found.draws.tolist(), found.at_least_mm.tolist(), strict=True)
    )
    return csv_rows([heads, *cars])


SHAPE = answer(
    FORMAT,
    "cars built at random within what their measurements are worth",
    title=text("of the corner"),
    cars=count("cars that were drawn"),
    not_built=count("of them that cannot be built"),
    generator=count("the number that the generator was started from"),
    clear=share("of the cars that can be built, those in which every part keeps its required gap"),
    parts=rows(
        "every part",
        table(
            "a part over all cars",
            part=text("its name"),
            required=mm("the gap that it must keep"),
            gap=mm("its gap as the corner is described"),
            worst=mm("its gap with everything off at once, the wrong way, by straight lines"),
            root_sum_square=mm("the standard deviation of its gap by straight lines"),
            sampled_least=mm("the least gap of any car"),
            sampled_mean=mm("the mean of all cars"),
            sampled_deviation=mm("the standard deviation over all cars"),
            below_worst=mm("by how much a car lies below the worst case, 0 where none does"),
            clear=share("of the cars, those in which it keeps its required gap"),
        ),
    ),
)
