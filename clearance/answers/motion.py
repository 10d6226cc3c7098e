"""The path of the wheel in tables: straight ahead, alone, and at both locks."""

from __future__ import annotations

from dataclasses import replace

from clearance.mockup.mockup import MockUp
from clearance.pose import car_steer_deg
from clearance.suspension.path import Step, at_locks, one_wheel, straight_ahead


def tables_of(mockup: MockUp, step_mm: float) -> dict[str, tuple[Step, ...]]:
    """Every table by its heading, steer signs as on the real side of the car."""

    suspension = mockup.suspension
    live = suspension.cycle.other_bump_mm != (0.0, 0.0)
    alike = "straight ahead, both wheels alike" if live else "straight ahead"
    tables = {alike: tuple(seen(row, mockup.right_hand) for row in straight_ahead(suspension, step_mm))}
    if live:
        alone = one_wheel(suspension, step_mm)
        tables["straight ahead, other wheel at ride height"] = tuple(seen(row, mockup.right_hand) for row in alone)
    locks = [seen(row, mockup.right_hand) for row in at_locks(suspension, step_mm)]
    for name, sign in (("full left lock", 1.0), ("full right lock", -1.0)):
        rows = tuple(row for row in locks if row.steer_deg * sign > 0.0)
        if rows:
            tables[name] = rows
    return tables


def seen(row: Step, right_hand: bool) -> Step:
    """A step with steer to the left positive on the real side of the car."""

    steer, turned = (car_steer_deg(turn, right_hand=right_hand) for turn in (row.steer_deg, row.turned_deg))
    return replace(row, steer_deg=steer, turned_deg=turned)


def give_of(mockup: MockUp) -> list[tuple[str, float]]:
    """The most that each bushing gives in the cycle; nothing where none needs to."""
    most = getattr(mockup.suspension, "most_give_mm", None)
    return most() if most is not None else []
