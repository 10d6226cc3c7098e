"""A gap as plain facts."""

from __future__ import annotations

import math
from typing import Any

from clearance.gap.found import Gap
from clearance.mockup.mockup import MockUp
from clearance.mockup.words import car_steer_deg


def gap_json(mockup: MockUp, gap: Gap) -> dict[str, Any]:
    """A gap as plain numbers, points and steering as the real car has them."""

    return {
        "part": gap.part,
        "required": round(gap.required_mm, 3),
        "at_least": round(gap.at_least_mm, 3) if math.isfinite(gap.at_least_mm) else None,
        "at_most": round(gap.at_most_mm, 3),
        "verdict": gap.verdict,
        "bump": round(gap.position.bump_mm, 2),
        "other_bump": round(gap.position.other_bump_mm, 2),
        "steer": round(car_steer_deg(gap.position.steer_deg, right_hand=mockup.right_hand), 2) + 0.0,
        "tire_region": gap.region,
        "where": gap.where,
    }
