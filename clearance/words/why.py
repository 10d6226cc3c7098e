"""Why an answer is wider than was asked, and what would narrow it."""

from __future__ import annotations

from clearance.gap.found import Gap


def why_wide(gap: Gap) -> tuple[str, ...]:
    """Why a bracket is wider than was asked for, and what would narrow it."""
    if gap.swallowed:
        return ()
    if gap.unseen:
        return ('a cloud of points does not show its holes: look at it, and write holes_closed = "all" if it has none',)
    if gap.hidden:
        return (_hidden_words(gap),)
    if gap.unmeasured:
        return ("its motion was not measured: both ends hold whatever the links do",)
    return () if gap.finished else (f"the search stopped after {gap.boxes:,} boxes of its work limit",)


def _hidden_words(gap: Gap) -> str:
    """The holes that widen a bracket: how large the nearest is, where, and what to do about it."""
    first, count = gap.hidden[0], len(gap.hidden)
    size = f"{first.across_mm[0]:.0f} x {first.across_mm[1]:.0f} mm at {first.where}"
    surface = sum(hidden.area_mm2 for hidden in gap.hidden) / 100
    if all(hidden.closed for hidden in gap.hidden):
        what = f"{count} closed holes, the nearest {size}" if count > 1 else f"a closed hole, {size}"
        return f"{what}: the sheet across them, {surface:.0f} cm2, was not measured and may be as near as that"
    what = f"{count} holes of the scan, the nearest {size}" if count > 1 else f"a hole of the scan, {size}"
    return (
        f"{what}, could hide something nearer ({surface:.0f} cm2 in all): scan it again, or look, and write its place"
        " under holes_open or holes_closed"
    )
