"""Wheel by wheel: one word, the number that decided it, and below them every number that was read."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from clearance.wheel.decided import KEEP
from clearance.wheel.inspection import FINDINGS, OPEN, OUTSIDE, UNREAD, WITHIN, Check
from clearance.words.text import notes, table

if TYPE_CHECKING:
    from clearance.answers.received import Received
    from clearance.mockup.mockup import MockUp

_FIRST = {OUTSIDE: 0, OPEN: 1, UNREAD: 2, WITHIN: 3}
assert set(_FIRST) == set(FINDINGS)


def page(mockup: MockUp, received: Received) -> str:
    """Wheel by wheel, of each its doubtful numbers first."""
    lines = [f"Wheels in their boxes: {mockup.title or 'order'}", "", *notes(mockup)]
    for one in received.wheels:
        lines += [f"  {one.wheel}: {one.verdict.upper()}", f"    {one.why}."]
        lines += [check_table(received.found.of(one.wheel)), ""]
    lines += [f"- {remark}" for remark in received.found.remarks]
    kept = sum(one.verdict == KEEP for one in received.wheels)
    count = len(received.wheels) + received.found.lacking
    lines.append(
        f"{kept} of {count} to keep: {received.verdict}. Mount no tire until every wheel is kept: a mounted wheel is"
        " not taken back."
    )
    return "\n".join([*lines, *(f"- {caution}" for caution in received.found.cautions)])


def check_table(checks: Sequence[Check]) -> str:
    """Every number of one wheel, its doubtful ones first."""
    first = sorted(checks, key=lambda check: _FIRST[check.finding])
    return table(["item", "measured", "ordered", "", "why"], [_row(check) for check in first], indent=4)


def _row(check: Check) -> list[str]:
    return [check.item, check.measured or "-", check.ordered, check.finding, check.why]


def blank_page(quantity: int, blank: str) -> str:
    """What to do with the sheet and the CSV."""
    back = f"--measured {blank}" if blank else "--blank FILE.csv, then --measured FILE.csv"
    return (
        f"One page or row for each of {quantity} wheels; leave empty what you did not read. Back with:"
        f" clearance inspect FILE {back}"
    )
