"""`clearance least-change`: the smallest single change that clears, and what it costs."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer
from clearance_cli.out import Progress, say, show

if TYPE_CHECKING:
    from clearance.answers.least_change import Change, LeastChange
    from clearance.mockup.mockup import MockUp

CAUTION = (
    "Spacers need the stud length for them and must seat flat; longer stops shorten the travel that"
    " keeps the axle off its"
    " brake hoses; camber and lock change how the car steers. Local codes limit track, lift and spacers."
)


def command(
    file: Annotated[Path, typer.Argument(help="The corner file.", show_default=False)],
    as_json: Annotated[bool, typer.Option("--json", help="Print only JSON.")] = False,
) -> int:
    """The smallest change that clears: spacer, backspace, bump stop, steering stop, ride height, camber, lip, tire
    size.

    Each is the exact minimum over the whole cycle, then rounded up to what is sold. Where no single change does it, the
    least pairs. How far each may go is in [limits] of the corner file, what is sold in [sold]. Exit code 0: it clears
    as it is; 1: something must change.
    """
    from clearance_cli.answer_text import read_corner

    from clearance.answers.least_change import least_change
    from clearance.tire.catalog import standard_sizes

    mockup = read_corner(file)
    progress = Progress(quiet=as_json)
    found = least_change(mockup, mockup.terms, standard_sizes(), progress=progress)
    progress.close()
    if as_json:
        show(facts(mockup, found))
    else:
        say(page(mockup, found))
    return 0 if clear_as_is(found) else 1


def clear_as_is(found: LeastChange) -> bool:
    """Was there nothing to change?"""
    from clearance.answers.checked import all_clear

    return all_clear(found.before)


def _change(mockup: MockUp, change: Change) -> dict[str, Any]:
    from clearance_cli.answer_text import gap_json

    return {
        "change": change.knob,
        "unit": change.unit,
        "exact": round(change.exact, 3),
        "bought": None if change.bought is None else round(change.bought, 3),
        "cost": change.cost,
        "effort": round(change.effort, 4),
        "after": [gap_json(mockup, gap) for gap in change.gaps],
    }


def facts(mockup: MockUp, found: LeastChange) -> dict[str, Any]:
    """Everything that the page says."""
    from clearance_cli.answer_text import gap_json

    smaller = found.smaller
    return {
        "format": "clearance-least-change/1",
        "title": mockup.title,
        "warnings": list(mockup.warnings),
        "before": [gap_json(mockup, gap) for gap in found.before],
        "changes": [_change(mockup, change) for change in found.changes],
        "smaller_tire": None
        if smaller is None
        else {
            "size": smaller.size,
            "overall_diameter": round(smaller.tire.overall_diameter_mm, 1),
            "section_width": round(smaller.tire.section_width_mm, 1),
            "source": smaller.source,
            "after": [gap_json(mockup, gap) for gap in smaller.gaps],
        },
        "pairs": [[_change(mockup, pair.first), _change(mockup, pair.second)] for pair in found.pairs],
        "not_enough": list(found.tried),
    }


def page(mockup: MockUp, found: LeastChange) -> str:
    """The changes as a fabricator reads them, least effort first."""
    from clearance_cli.answer_text import head, position_words, table, told

    from clearance.units import both

    lines = head(mockup)
    if clear_as_is(found):
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
    lines += ["", table(["change", "least", "buy", "costs"], rows) if rows else "  No single change clears."]
    if found.pairs:
        lines += ["", "  Two together, least first:"]
        for pair in found.pairs[:6]:
            first, second = _row(pair.first), _row(pair.second)
            lines.append(f"    {first[0]} {first[2]} ({first[3]})")
            lines.append(f"      and {second[0]} {second[2] or second[1]} ({second[3]}), least {second[1]}")
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


def _row(change: Change) -> list[str]:
    from clearance.units import both

    def words(amount: float) -> str:
        return both(amount) if change.unit == "mm" else f"{amount:.2f} deg"

    bought = "nothing sold clears" if change.bought is None else words(change.bought)
    return [change.knob, words(change.exact), bought, change.cost]
