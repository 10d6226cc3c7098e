"""`clearance window`: the backspace and offset that keep every required gap, for each rim width."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer
from clearance_cli.out import Progress, say, show, write_all

if TYPE_CHECKING:
    pass


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
    from clearance.facts.window import facts
    from clearance.words.window import page

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
