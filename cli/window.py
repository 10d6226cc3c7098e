"""`clearance window`: the backspace and offset that keep every required gap, for each rim width."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer
from clearance_cli.out import Progress, say, show, write_all

if TYPE_CHECKING:
    from clearance.answers.window import End, Window
    from clearance.mockup.mockup import MockUp


def command(
    file: Annotated[Path, typer.Argument(help="The corner file.", show_default=False)],
    width: Annotated[
        list[str] | None, typer.Option("--width", help='Rim width, as "7 in"; repeat for more. Default: all permitted.')
    ] = None,
    picture: Annotated[Path | None, typer.Option(help="Draw it: an .svg file.")] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print only JSON.")] = False,
) -> int:
    """Which backspace and offset clear, for the tire on each permitted rim width, and what binds each end.

    Ends are exact to 0.1 mm: that offset clears and 0.1 mm further does not, both over the whole cycle. Exit code 0:
    the wheel given is inside; 1: it is not.
    """
    from clearance_cli.answer_text import length_option, read_corner

    from clearance.answers.window import window

    mockup = read_corner(file)
    widths = [(length_option(text, "--width") or 0.0) / 25.4 for text in width or ()] or None
    progress = Progress(quiet=as_json)
    found = window(mockup, mockup.terms.limits, widths_in=widths, progress=progress)
    progress.close()
    past = found.given_past_mm()
    if picture is not None:
        from clearance.answers.window_picture import picture_of
        from clearance.errors import OutputError
        from clearance.export.svg import sheet

        if picture.suffix.lower() != ".svg":
            raise OutputError(f"{picture}: the window is drawn as .svg. Write --picture {picture.stem}.svg.")
        write_all(picture.parent, {picture.name: sheet(picture_of(found), title=f"{mockup.title}: window")})
    if as_json:
        show(facts(mockup, found))
    else:
        say(page(mockup, found))
    return 0 if past is not None and past <= 0 else 1


def facts(mockup: MockUp, found: Window) -> dict[str, Any]:
    """Everything that the page says, in mm and inches of rim."""
    from clearance_cli.answer_text import gap_json

    def end(one: End) -> dict[str, Any]:
        return {
            "offset": round(one.offset_mm, 1),
            "backspace": round(one.backspace_mm, 2),
            "binds": None if one.binds is None else gap_json(mockup, one.binds),
        }

    return {
        "format": "clearance-window/1",
        "title": mockup.title,
        "warnings": list(mockup.warnings),
        "given": {
            "width_in": found.given_width_in,
            "offset": round(found.given_offset_mm, 2),
            "backspace": round(found.given_backspace_mm, 2),
            "outside_by": None if found.given_past_mm() is None else round(float(found.given_past_mm() or 0.0), 2),
        },
        "searched_offset": [round(v, 2) for v in found.searched_mm],
        "step": 0.1,
        "widths": [
            {
                "width_in": row.width_in,
                "section_width": round(row.section_width_mm, 1),
                "stretches": [
                    {
                        "least": end(s.least),
                        "most": end(s.most),
                        "best_offset": round(s.best_offset_mm, 1),
                        "best_spare": round(s.best_spare_mm, 2),
                    }
                    for s in row.stretches
                ],
                "closest_offset": round(row.closest_offset_mm, 1),
                "closest_spare": round(row.closest_spare_mm, 2),
                "closest_binds": None if row.closest_binds is None else gap_json(mockup, row.closest_binds),
            }
            for row in found.widths
        ],
    }


def page(mockup: MockUp, found: Window) -> str:
    """The window as a fabricator reads it."""
    from clearance_cli.answer_text import head, position_words, table

    from clearance.units import both, inch_text

    def binds(end: End) -> str:
        if end.binds is None:
            return "limit of what may be ordered"
        return f"{end.binds.part}, {position_words(mockup, end.binds)}"

    rows = []
    for row in found.widths:
        name = f"{row.width_in:.3g} in"
        section = f"{row.section_width_mm:.0f} mm"
        for s in row.stretches:
            rows.append([name, section, "shallowest", *_end_cells(s.least), binds(s.least)])
            rows.append(["", "", "deepest", *_end_cells(s.most), binds(s.most)])
            best = mockup.wheel.with_offset(s.best_offset_mm)
            half = row.width_in * 12.7 + best.flange_thickness_mm
            back = half + s.best_offset_mm
            rows.append(
                [
                    "",
                    "",
                    "most room",
                    f"{back / 25.4:.3f} in",
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


def _end_cells(end: End) -> list[str]:
    from clearance.units import inch_text

    return [f"{end.backspace_mm / 25.4:.3f} in", inch_text(end.backspace_mm), f"{end.offset_mm:+.1f} mm"]


def _sentence(found: Window) -> str:
    from clearance.units import both

    past = found.given_past_mm()
    wheel = f"The wheel given ({found.given_width_in:g} in, backspace {both(found.given_backspace_mm)})"
    low, high = found.searched_mm
    looked = f" Offsets from {low:+.0f} to {high:+.0f} mm were searched; ends are exact to 0.1 mm."
    if past is None:
        return f"{wheel} has no backspace that clears on its own width.{looked}"
    if past <= 0:
        return f"{wheel} is inside, {both(-past)} from the nearer end.{looked}"
    return f"{wheel} is outside by {both(past)}.{looked}"
