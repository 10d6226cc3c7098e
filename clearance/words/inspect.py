"""Wheel by wheel, what is wrong first."""

from __future__ import annotations

from clearance.mockup.mockup import MockUp
from clearance.wheel.inspection import Inspection
from clearance.words.text import notes, table


def page(mockup: MockUp, names: list[str], found: Inspection) -> str:
    """Wheel by wheel, what is wrong first."""

    worst = {"return": 0, "re-measure": 1, "accept": 2}
    lines = [f"Wheels in their boxes: {mockup.title or 'order'}", "", *notes(mockup)]
    every = [*names, *(["all"] if any(c.wheel == "all" for c in found.checks) else [])]
    for name in every:
        checks = sorted((c for c in found.checks if c.wheel == name), key=lambda c: worst[c.verdict])
        lines.append(f"  {name}: {found.of(name).upper()}")
        rows = [[c.item, c.measured or "-", c.ordered, c.verdict, c.why] for c in checks]
        lines += [table(["item", "measured", "ordered", "", "why"], rows, indent=4), ""]
    lines.append(
        f"Verdict: {found.verdict}. Mount no tire until every wheel is accepted: a mounted wheel is not taken back."
    )
    return "\n".join([*lines, *(f"- {caution}" for caution in found.cautions)])
