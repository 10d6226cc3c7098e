"""Before and after, part by part, as a fabricator reads it."""

from __future__ import annotations

from clearance.answers.compare import LeftRight, Measure, PartChange
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

    body = []
    for row in rows:
        before, after = row.before, row.after
        change = "" if row.change_mm is None else f"{row.change_mm:+.1f} mm"
        stands = after or before
        body.append(
            [
                row.part,
                "not there" if before is None else both(before.gap_mm),
                "" if before is None else before.verdict,
                "not there" if after is None else both(after.gap_mm),
                "" if after is None else after.verdict,
                change,
                "" if stands is None else f"{stands.position}; {stands.where}",
            ]
        )
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
