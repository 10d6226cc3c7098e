"""The corner file that a filled sheet makes, as facts."""

from __future__ import annotations

from clearance.facts.shape import answer, rows, text

SHAPE = answer(
    "clearance-new/1",
    "the corner file that a filled sheet makes",
    sheet=text("its name, as `measure` takes it"),
    depth=text("how much was measured"),
    corner_file=text("where it was written"),
    answers=text("where the filled sheet was written, to be taken up again"),
    left_out=rows("what was not answered", text("a letter of the sheet")),
    doubts=rows("what should be looked at again", text("letters and why, lengths in mm")),
)
