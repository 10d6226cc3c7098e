"""What to write to the seller of a wheel that goes back: what was ordered, what was measured, with what and how surely.

Only the numbers that are outside whatever their reading hides are in it, each with what is proven of it: with the
difference d, the reading's plus-or-minus u and the tolerance t, the wheel is off by at least d - u, of t that is
allowed. Why it is so, the reading does not say, and neither does the letter. Lengths are millimetres.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from clearance.errors import WheelError
from clearance.units import fine
from clearance.wheel.inspection import OUTSIDE, UNREAD, WITHIN, Check

READ_WITH: Mapping[str, str] = {
    "bead seat width": "inside calipers between the two flanges, where the beads sit",
    "overall width": "a tape over both flanges",
    "bead seat diameter": "a tape once round the bead seat, divided by 3.1416, or straight across it",
    "flange diameter": "a tape straight across, edge to edge over the flange",
    "backspace": "a straight edge across the inner flange and a tape down to the mounting face",
    "bolt circle": "calipers from hole to hole",
    "center bore": "calipers, three ways round",
    "lug seat": "a nut held in the seat",
    "thread": "a known nut run on by hand",
    "thread engagement": "the turns of the nut counted from first bite to seated, on our studs",
}
"""How each item is read in its box; see box_form.py."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Letter:
    """What to write of one wheel."""

    wheel: str
    text: str


def letter(wheel: str, checks: Sequence[Check], *, title: str) -> Letter:
    """What to write of a wheel that goes back. Raises WheelError for one of which nothing is proven."""
    outside = [check for check in checks if check.finding == OUTSIDE]
    if not outside:
        raise WheelError(f"{wheel}: nothing that was read is outside what was ordered, so there is nothing to write.")
    lines = [f'The wheel in the box marked "{wheel}", ordered for {title}, is not as we read the order.']
    lines += [_line(check) for check in outside]
    lines.append(_others(checks))
    lines.append(
        "No tire has been mounted on it and nothing on it was changed. Please check it against the order, and tell us"
        " whether you exchange it or take it back, and how it is to be sent."
    )
    return Letter(wheel=wheel, text=" ".join(line for line in lines if line))


def _line(check: Check) -> str:
    how = READ_WITH[check.item]
    words = f"{check.item[:1].upper()}{check.item[1:]}: ordered {check.ordered}, found {check.measured}, by {how}"
    if check.difference_mm is None or check.reading_mm is None:
        return f"{words}."
    proven = abs(check.difference_mm) - check.reading_mm
    less = "more" if check.difference_mm > 0 else "less"
    read = f", read to {fine(check.reading_mm)} either way"
    if check.tolerance_mm is None:
        return f"{words}{read}: at least {fine(proven)} {less} than that."
    return (
        f"{words}{read}: so it is at least {fine(proven)} {less} than ordered, and we allow {fine(check.tolerance_mm)}"
        " either way."
    )


def _others(checks: Sequence[Check]) -> str:
    """What is not in question, so that it need not be looked for."""
    within = [check.item for check in checks if check.finding == WITHIN]
    unread = [check.item for check in checks if check.finding == UNREAD]
    said = [f"As ordered: {', '.join(within)}." if within else "", f"Not read: {', '.join(unread)}." if unread else ""]
    return " ".join(one for one in said if one)
