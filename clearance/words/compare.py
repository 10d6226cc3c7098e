"""Before and after, part by part, as a fabricator reads it."""

from __future__ import annotations

from clearance.answers.compare import LeftRight, Measure, PartChange, Side
from clearance.answers.swap import NOTHING_NOW, Swap
from clearance.units import both
from clearance.words.swap import lines as swap_lines
from clearance.words.text import table


def page(
    first: Measure,
    second: Measure,
    rows: tuple[PartChange, ...],
    sides: LeftRight | None,
    swap: Swap | None,
    now: tuple[Swap, ...],
) -> str:
    """Part by part, as a fabricator reads it."""
    body = [_row(row) for row in rows]
    header = ["part", "before", "", "after", "", "change", "tightest after at"]
    lines = [f"before: {first.title} ({first.corner})", f"after:  {second.title} ({second.corner})", ""]
    for word, one in (("before", first), ("after", second)):
        lines += [line for warning in one.warnings for line in (f"  Note, {word}: {warning}", "")]
    lines.append(table(header, body))
    if swap is not None:
        lines += ["", "After against before, tire and wheel:", *swap_lines(swap)]
        lines += ["", "Against what is on the car now:", *(text for one in now for text in swap_lines(one))]
        lines += [] if now else [f"  {NOTHING_NOW}"]
    if sides is not None:
        lines += ["", f"Left against right: {sides.verdict} (to within {sides.doubt_mm:.1f} mm, from the tape)."]
    return "\n".join(lines)


def _row(row: PartChange) -> list[str]:
    now = row.after or row.before
    change = "" if row.change_mm is None else f"{row.change_mm:+.1f} mm"
    where = "" if now is None else f"{now.position}; {now.where}"
    return [row.part, *_side(row.before), *_side(row.after), change, where]


def _side(side: Side | None) -> tuple[str, str]:
    """Gap and verdict of a part on one side of the change."""
    return ("not there", "") if side is None else (both(side.gap_mm), side.verdict)
