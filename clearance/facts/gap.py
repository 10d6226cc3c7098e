"""A gap as plain facts."""

from __future__ import annotations

import math
from typing import Any

from clearance.facts.shape import VERDICT, Shape, deg, flag, maybe, mm, table, text
from clearance.gap.found import AT_EVERY, AT_OTHERS, Gap
from clearance.gap.rest import at_rest
from clearance.mockup.mockup import MockUp
from clearance.pose import car_steer_deg


def gap_json(mockup: MockUp, gap: Gap) -> dict[str, Any]:
    """A gap as plain numbers, points and steering as the real car has them; one that never changes at ride height."""
    gap = at_rest(mockup, gap)

    return {
        "part": gap.part,
        "required": round(gap.required_mm, 3),
        "at_least": round(gap.at_least_mm, 3) if math.isfinite(gap.at_least_mm) else None,
        "at_most": round(gap.at_most_mm, 3),
        "verdict": gap.verdict,
        "bump": round(gap.position.bump_mm, 2),
        "other_bump": round(gap.position.other_bump_mm, 2),
        "steer": round(car_steer_deg(gap.position.steer_deg, right_hand=mockup.right_hand), 2) + 0.0,
        "every_position": gap.held == AT_EVERY,
        "other_positions": gap.held == AT_OTHERS,
        "tire_region": gap.region,
        "where": gap.where,
    }


def gap_shape(words: str) -> Shape:
    """What `gap_json` gives."""
    return table(
        words,
        part=text("its name"),
        required=mm("the gap that it must keep"),
        at_least=maybe(mm("the true gap is no less; below zero it is a depth"), "where nothing is known from below"),
        at_most=mm("the true gap is no more"),
        verdict=VERDICT,
        bump=mm("this wheel where the gap is least, up from ride height"),
        other_bump=mm("the other wheel of the axle there"),
        steer=deg("of the car there, positive to the left"),
        every_position=flag("whether the gap is the same at every position, within the tolerance; told at ride height"),
        other_positions=flag("whether it is as small, within the tolerance, at positions far from this one too"),
        tire_region=text("which surface of the tire or wheel"),
        where=text("the place on the car, lengths in mm"),
    )
