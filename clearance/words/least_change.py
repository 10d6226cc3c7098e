"""The least change, and what it costs."""

from __future__ import annotations

from collections.abc import Sequence

from clearance.answers.combined import Combination
from clearance.answers.least_change import Change, LeastChange, Smaller
from clearance.mockup.mockup import MockUp
from clearance.terms import Cost
from clearance.tire.tire import Tire
from clearance.units import both
from clearance.words.text import head, position_words, table, told

CAUTION = (
    "Spacers need the stud length for them and must seat flat; longer stops shorten the travel that"
    " keeps the axle off its"
    " brake hoses; camber and lock change how the car steers. Local codes limit track, lift and spacers."
)

LEAST = "Least: clears over the whole cycle, and 0.1 mm (0.02 deg) less does not."


def page(mockup: MockUp, found: LeastChange) -> str:
    """The changes as a fabricator reads them, least effort first."""

    lines = head(mockup)
    if found.clear_as_is:
        return "\n".join([*lines, "Every part keeps its required gap: nothing has to change."])
    wrong = [gap for gap in found.before if gap.verdict != "clears"]
    lines += [
        f"  {gap.part}: {told(gap)}, must keep {both(gap.required_mm, digits=0)} ({position_words(mockup, gap)})"
        for gap in wrong
    ]
    lines += ["", *alone(mockup.tire, found.changes, found.smaller, found.tried)]
    lines += ["", *combined(found.combinations, mockup.terms.cost)]
    if found.changes or found.smaller is not None:
        lines += [LEAST]
    return "\n".join([*lines, CAUTION])


def alone(now: Tire, changes: Sequence[Change], smaller: Smaller | None, tried: Sequence[str]) -> list[str]:
    """Single changes, the next tire down, and what is not enough on its own."""
    rows = [_row(change) for change in changes]
    if smaller is not None:
        tire = smaller.tire
        cost = (
            f"{now.overall_diameter_mm - tire.overall_diameter_mm:.0f} mm less diameter,"
            f" {now.section_width_mm - tire.section_width_mm:.0f} mm less width"
        )
        rows.append(["tire", "", smaller.size, cost])
    lines = [table(["alone", "least", "buy", "costs"], rows) if rows else "  No single change clears."]
    if tried:
        lines += ["", f"  Not enough on its own within [limits]: {', '.join(tried)}."]
    return lines


def combined(combinations: Sequence[Combination], cost: Cost) -> list[str]:
    """What clears together, cheapest first, and how it was counted."""
    if not combinations:
        return [
            "  Of what [sold] has, no one, two or three changes together clear within [limits]."
            " See `largest` for tires, `window` for wheels, `relief` for metal.",
            "",
        ]
    lines = ["  Of what is sold, cheapest first; each checked whole, and nothing cheaper of the same changes clears:"]
    for number, one in enumerate(combinations, 1):
        names = " + ".join(f"{change.knob} {change.said}" for change in one.changes)
        back = "can be put back" if one.reversible else "CANNOT be put back"
        money = f", {one.money:g} in money" if one.money else ""
        lines.append(f"  {number}. {names}: {one.work_hours:g} h of work{money}, {back}; counts as {one.hours:.1f} h")
        lines += [f"       {change.knob}: {change.cost}" for change in one.changes]
    return [
        *lines,
        f"  Counted in hours: work, money at {cost.per_hour:g} an hour, {cost.irreversible_hours:g} h for what cannot"
        f" be put back, and {cost.given_up_hours:g} h times the share of travel or lock that is lost. Hours are common"
        " practice where [cost] gives none.",
        "",
    ]


def _row(change: Change) -> list[str]:

    bought = "nothing sold clears" if change.bought_said is None else change.bought_said
    return [change.knob, change.exact_said, bought, change.cost]
