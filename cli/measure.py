"""`clearance measure`: the blank measuring sheet, to print and take to the car."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer
from clearance_cli.out import say, write_all


def command(
    sheet: Annotated[str, typer.Argument(metavar="KIND", help="rear-leaf, rear or front: the kind of corner.")],
    unit: Annotated[str, typer.Option(help="What the tape is marked in: in, mm or cm.")] = "in",
    paper: Annotated[str, typer.Option(help="A4 or Letter.")] = "letter",
    out: Annotated[Path, typer.Option(help="The folder to write into.")] = Path("."),
) -> None:
    """Print the blank measuring sheet of one kind of corner, as a PDF and as a CSV to fill in.

    The drawing letters every dimension; `clearance new` asks for the same letters in the same order.
    """

    from clearance.report.letters import SHEETS, letters_of
    from clearance.report.measuring_sheet import answers_csv, measuring_sheet

    name = f"measuring-{sheet}"
    files = {
        f"{name}.pdf": measuring_sheet(sheet, unit=unit, paper=paper),
        f"{name}.csv": answers_csv(sheet, unit=unit),
    }
    for path in write_all(out, files):
        say(str(path))
    needed = [letter.letter for letter in letters_of(sheet) if letter.needed]
    say(f"{SHEETS[sheet]}: take {', '.join(needed)} at least; the sheet says how, and what holds for the rest.")
    say("Car on stands, wheels chocked, springs out before a hub is moved by hand. Measure left and right.")
    say(f"Then: clearance new {sheet} --out my-corner.toml")
