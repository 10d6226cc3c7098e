"""Before and after, part by part, as a fabricator reads it."""

from __future__ import annotations

from clearance.answers.compare import LeftRight, Measure, PartChange
from clearance.units import both
from clearance.words.text import table


def page(first: Measure, second: Measure, rows: tuple[PartChange, ...], sides: LeftRight | None) -> str:
    """Part by part, as a fabricator reads it."""

    body = []
    for row in rows:
        before, after = row.before, row.after
        change = "" if row.change_mm is None else f"{row.change_mm:+.1f} mm"
        now = after or before
        body.append(
            [
                row.part,
                "not there" if before is None else both(before.gap_mm),
                "" if before is None else before.verdict,
                "not there" if after is None else both(after.gap_mm),
                "" if after is None else after.verdict,
                change,
                "" if now is None else f"{now.position}; {now.where}",
            ]
        )
    header = ["part", "before", "", "after", "", "change", "tightest after at"]
    lines = [f"before: {first.title} ({first.corner})", f"after:  {second.title} ({second.corner})", ""]
    for word, one in (("before", first), ("after", second)):
        lines += [line for warning in one.warnings for line in (f"  Note, {word}: {warning}", "")]
    lines.append(table(header, body))
    if sides is not None:
        lines += ["", f"Left against right: {sides.verdict} (to within {sides.doubt_mm:.1f} mm, from the tape)."]
    return "\n".join(lines)
