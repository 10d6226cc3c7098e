"""A blank measuring sheet, and the corner file that a filled one makes, as facts."""

from __future__ import annotations

from clearance.facts.shape import FILES, answer, rows, text

SHAPE = answer(
    "clearance-measure/1",
    "a blank measuring sheet",
    sheet=text("its name, as `measure` takes it"),
    what=text("the kind of corner in words"),
    next=text("the command that reads the filled sheet"),
    needed=rows("what must be measured at least", text("a letter of the sheet")),
    files=FILES,
)
