"""One word for every wheel, and every number of it, as facts."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from clearance.facts.shape import FILES, count, maybe, mm, of_corner, one_of, rows, table, text
from clearance.wheel.decided import WORST_FIRST
from clearance.wheel.inspection import FINDINGS, Check

if TYPE_CHECKING:
    from clearance.answers.received import Received
    from clearance.mockup.mockup import MockUp


def facts(mockup: MockUp, received: Received, files: Sequence[str] = ()) -> dict[str, Any]:
    """Everything that the page says; with the names of sheets that were written."""
    return {
        "format": "clearance-inspect/2",
        "title": mockup.title,
        "warnings": list(mockup.warnings),
        "verdict": received.verdict,
        "wheels": [
            {"wheel": one.wheel, "verdict": one.verdict, "decided_by": one.decided_by, "why": one.why}
            for one in received.wheels
        ],
        "checks": [check_json(check) for check in received.found.checks],
        "lacking": received.found.lacking,
        "remarks": list(received.found.remarks),
        "cautions": list(received.found.cautions),
        "files": list(files),
    }


def check_json(c: Check) -> dict[str, Any]:
    """One number of one wheel."""
    return {
        "wheel": c.wheel,
        "item": c.item,
        "ordered": c.ordered,
        "measured": c.measured,
        "difference": None if c.difference_mm is None else round(c.difference_mm, 3),
        "read_to": None if c.reading_mm is None else round(c.reading_mm, 3),
        "tolerance": c.tolerance_mm,
        "finding": c.finding,
        "why": c.why,
    }


CHECKS = rows(
    "every number of every wheel",
    table(
        "one number",
        wheel=text("the wheel's name"),
        item=text("what was measured"),
        ordered=text("with its unit"),
        measured=text("with its unit; empty where it was not measured"),
        difference=maybe(mm("measured less ordered"), "where there is none to tell"),
        read_to=maybe(mm("plus or minus of the reading"), "where there is none to tell"),
        tolerance=maybe(mm("plus or minus that was ordered"), "where there is none"),
        finding=one_of("what this reading tells of its order", *FINDINGS),
        why=text("in words"),
    ),
)

SHAPE = of_corner(
    "clearance-inspect/2",
    "one word for every wheel that came, and every number of it against the order",
    verdict=one_of("the worst of all of them", *WORST_FIRST),
    wheels=rows(
        "one word for each wheel",
        table(
            "one wheel",
            wheel=text("its name"),
            verdict=one_of("what becomes of it", *WORST_FIRST),
            decided_by=text("the item whose number decided, or the part that has no room"),
            why=text("in words"),
        ),
    ),
    checks=CHECKS,
    lacking=count("wheels of the order that were not read"),
    remarks=rows("what is to be said of all of them together", text("one of them")),
    cautions=rows("what to know before a tire is mounted", text("one of them")),
    files=FILES,
)
