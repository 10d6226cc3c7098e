"""The least change, and what it costs."""

from __future__ import annotations

from clearance.answers.least_change import Change, LeastChange
from clearance.mockup.mockup import MockUp
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
    rows = _rows(mockup, found)
    lines += ["", table(["change", "least", "buy", "costs"], rows) if rows else "  No single change clears."]
    lines += _two_together(found)
    if found.tried:
        lines += ["", f"  Not enough on its own within [limits]: {', '.join(found.tried)}."]
    if rows or found.pairs:
        lines += ["", "Least: clears over the whole cycle, and 0.1 mm (0.02 deg) less does not."]
    else:
        lines += [
            "",
            "No two together do either. See `largest` for tires, `window` for wheels, `relief` for metal.",
        ]
    return "\n".join([*lines, CAUTION])


def _rows(mockup: MockUp, found: LeastChange) -> list[list[str]]:
    """Every single change that clears, and the smaller tire."""
    rows = [_row(change) for change in found.changes]
    if found.smaller is not None:
        tire, now = found.smaller.tire, mockup.tire
        cost = (
            f"{now.overall_diameter_mm - tire.overall_diameter_mm:.0f} mm less diameter,"
            f" {now.section_width_mm - tire.section_width_mm:.0f} mm less width"
        )
        rows.append(["tire", "", found.smaller.size, cost])
    return rows


def _two_together(found: LeastChange) -> list[str]:
    lines = ["", "  Two together, least first:"] if found.pairs else []
    for pair in found.pairs[:6]:
        first, second = _row(pair.first), _row(pair.second)
        lines.append(f"    {first[0]} {first[2]} ({first[3]})")
        lines.append(f"      and {second[0]} {second[2] or second[1]} ({second[3]}), least {second[1]}")
    return lines


def _row(change: Change) -> list[str]:

    def words(amount: float) -> str:
        return both(amount) if change.unit == "mm" else f"{amount:.2f} deg"

    bought = "nothing sold clears" if change.bought is None else words(change.bought)
    return [change.knob, words(change.exact), bought, change.cost]
