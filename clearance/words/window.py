"""The window as a fabricator reads it."""

from __future__ import annotations

from clearance.answers.window import End, Window
from clearance.mockup.mockup import MockUp
from clearance.units import MM_PER_INCH, both, inch_inside, inch_text
from clearance.words.text import head, position_words, table


def page(mockup: MockUp, found: Window) -> str:
    """The window as a fabricator reads it."""

    def binds(end: End) -> str:
        if end.binds is None:
            return "limit of what may be ordered"
        return f"{end.binds.part}, {position_words(mockup, end.binds)}"

    rows = []
    for row in found.widths:
        name = f"{row.width_in:.3g} in"
        section = f"{row.section_width_mm:.0f} mm"
        for s in row.stretches:
            rows.append([name, section, "shallowest", *_end_cells(s.least, shallow=True), binds(s.least)])
            rows.append(["", "", "deepest", *_end_cells(s.most, shallow=False), binds(s.most)])
            best = mockup.wheel.with_offset(s.best_offset_mm)
            half = row.width_in * MM_PER_INCH / 2 + best.flange_thickness_mm
            back = half + s.best_offset_mm
            rows.append(
                [
                    "",
                    "",
                    "most room",
                    f"{back / MM_PER_INCH:.3f} in",
                    inch_text(back),
                    f"{s.best_offset_mm:+.1f} mm",
                    f"{both(s.best_spare_mm)} to spare",
                ]
            )
        if not row.stretches and row.closest_binds is not None:
            gap = row.closest_binds
            rows.append(
                [
                    name,
                    section,
                    "nothing",
                    "",
                    "",
                    f"{row.closest_offset_mm:+.1f} mm",
                    f"closest: {gap.part} short by {both(-row.closest_spare_mm)}, {position_words(mockup, gap)}",
                ]
            )
    header = ["rim", "section", "", "backspace", "to 1/16", "offset", "stopped by"]
    return "\n".join([*head(mockup), table(header, rows), "", _sentence(found)])


def _end_cells(end: End, *, shallow: bool) -> list[str]:
    """Backspace exact and on a tape, rounded into the window; offset."""
    tape = inch_inside(end.backspace_mm, at_least=shallow)
    return [f"{end.backspace_mm / MM_PER_INCH:.3f} in", tape, f"{end.offset_mm:+.1f} mm"]


def _sentence(found: Window) -> str:

    past = found.given_past_mm()
    wheel = f"The wheel given ({found.given_width_in:g} in, backspace {both(found.given_backspace_mm)})"
    low, high = found.searched_mm
    looked = f" Offsets from {low:+.0f} to {high:+.0f} mm were searched; ends are exact to 0.1 mm."
    if past is None:
        return f"{wheel} has no backspace that clears on its own width.{looked}"
    if past <= 0:
        return f"{wheel} is inside, {both(-past)} from the nearer end.{looked}"
    return f"{wheel} is outside by {both(past)}.{looked}"
