"""The least change, and what it costs."""

from __future__ import annotations

from clearance.answers.least_change import Change, LeastChange
from clearance.mockup.mockup import MockUp
from clearance.terms import Cost
from clearance.units import both
from clearance.words.text import head, position_words, table, told

CAUTION = (
    "Spacers need the stud length for them and must seat flat; longer stops shorten the travel that"
    " keeps the axle off its"
    " brake hoses; camber and lock change how the car steers. Local codes limit track, lift and spacers."
)


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
    rows = [_row(change) for change in found.changes]
    if found.smaller is not None:
        tire, now = found.smaller.tire, mockup.tire
        cost = (
            f"{now.overall_diameter_mm - tire.overall_diameter_mm:.0f} mm less diameter,"
            f" {now.section_width_mm - tire.section_width_mm:.0f} mm less width"
        )
        rows.append(["tire", "", found.smaller.size, cost])
    lines += ["", table(["alone", "least", "buy", "costs"], rows) if rows else "  No single change clears."]
    if found.tried:
        lines += ["", f"  Not enough on its own within [limits]: {', '.join(found.tried)}."]
    lines += ["", *_combined(found, mockup.terms.cost)]
    if rows:
        lines += ["Least: clears over the whole cycle, and 0.1 mm (0.02 deg) less does not."]
    return "\n".join([*lines, CAUTION])


def _combined(found: LeastChange, cost: Cost) -> list[str]:
    if not found.combinations:
        return [
            "  Of what [sold] has, no one, two or three changes together clear within [limits]."
            " See `largest` for tires, `window` for wheels, `relief` for metal.",
            "",
        ]
    lines = ["  Of what is sold, cheapest first; each checked whole, and nothing cheaper of the same changes clears:"]
    for number, one in enumerate(found.combinations, 1):
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
