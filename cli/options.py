"""What options share: lengths with their unit, a picture to draw, and the exit code of a verdict."""

from __future__ import annotations

import dataclasses
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Annotated, Any, BinaryIO, cast

import typer
from clearance_cli.out import ready, ready_place

import clearance

EXIT_CODES = {"clears": 0, "tight": 1, "hits": 1, "undecided": 3}
"""2 is an input that is wrong."""


Units = Annotated[
    str | None,
    typer.Option("--units", metavar="mm|in", help="Which unit stands first; as the corner file says if not given."),
]
"""Of a verb that reads a corner file."""
PlainUnits = Annotated[
    str | None, typer.Option("--units", metavar="mm|in", help="Which unit stands first on the page; mm if not given.")
]
"""Of a verb that reads none."""


Which = Annotated[
    str | None,
    typer.Option("--corner", metavar="NAME", help="Which corner of a car file is meant: rear-left and the like."),
]
"""Of a verb that answers for one corner."""


def corner_at(file: Path, units: str | None = None, which: str | None = None) -> clearance.MockUp:
    """The corner of a corner file, or `which` of a car file; of standard input where the file is "-".

    `units` is which unit its pages have first, where it was said on the command line.
    """
    first = units_option(units)
    if str(file) == "-":
        corner = clearance.read_from(_standard_input(), corner=which)
    else:
        corner = clearance.load(file, corner=which)
    return corner if first is None else dataclasses.replace(corner, units=first)


def corner_or_car(file: Path, units: str | None = None, which: str | None = None) -> clearance.MockUp | clearance.Car:
    """The car of a car file, of a verb that answers for several corners; one corner where one is named or described."""
    car = car_at(file, units, which)
    return next(iter(car.corners.values())) if len(car.corners) == 1 else car


def car_at(file: Path, units: str | None = None, which: str | None = None) -> clearance.Car:
    """The car of a car file, or with `which` that corner of it alone; a corner file is a car with that corner."""
    first = units_option(units)
    car = clearance.read_car_from(_standard_input()) if str(file) == "-" else clearance.load_car(file)
    corners = car.corners if which is None else {which: car.at(which)}
    if first is not None:
        corners = {name: dataclasses.replace(corner, units=first) for name, corner in corners.items()}
    return dataclasses.replace(car, units=first or car.units, corners=corners)


def triangles_in(asked: clearance.MockUp | clearance.Car) -> int:
    """How many triangles all of the parts have."""
    corners = [asked] if isinstance(asked, clearance.MockUp) else asked.corners.values()
    return sum(len(part.triangles_mm) for corner in corners for part in corner.parts)


def units_option(units: str | None) -> str | None:
    """Which unit stands first, where it was said; asked before anything is measured."""
    try:
        return None if units is None else clearance.unit_first(units)
    except clearance.UnitError as wrong:
        raise clearance.UnitError(f"--units: {wrong}") from None


def _standard_input() -> BinaryIO:
    stream = getattr(sys.stdin, "buffer", None)
    if stream is None:
        raise clearance.InputError("there is no standard input to read from. Name a file.")
    return cast(BinaryIO, stream)


Paper = Annotated[
    str | None,
    typer.Option("--paper", help='Of the drawings: "A4" or "Letter". Letter where inches stand first, else A4.'),
]
"""Of a verb that prints."""


PatternPaper = Annotated[
    str | None,
    typer.Option(
        "--paper",
        help='Of the patterns: "A4", "Letter", "Tabloid", "A3" to "A0", or a roll as "roll 24 in".'
        " Letter where inches stand first, else A4.",
    ),
]
"""The same of a verb whose patterns may be larger than a desk printer's paper."""


def paper_for(paper: str | None, unit: str) -> str:
    """The paper that was named, or the one of those who measure in this unit first."""
    if paper is not None:
        return paper
    return "letter" if unit == "in" else "A4"


def folder_ahead(ctx: typer.Context, folder: Path | None) -> Path | None:
    """The folder of an option, refused before anything is measured where nothing can be written into it."""
    if folder is not None and not ctx.resilient_parsing:
        ready(folder)
    return folder


def place_ahead(ctx: typer.Context, place: Path | None) -> Path | None:
    """The same of a file to write."""
    if place is not None and not ctx.resilient_parsing:
        ready_place(place)
    return place


Csv = Annotated[
    Path | None,
    typer.Option(
        callback=place_ahead,
        help="Also write the rows of the answer for a spreadsheet: a .csv file, each column with its unit.",
    ),
]
"""Of a verb whose answer has rows."""


def table_at(place: Path | None, found: clearance.Answer[Any]) -> dict[Path, bytes]:
    """The rows of an answer, where they were asked for."""
    if place is None:
        return {}
    if place.suffix.lower() != ".csv":
        raise clearance.OutputError(f"{place}: the rows are written as .csv. Write --csv {place.stem}.csv.")
    return {place: found.csv().encode()}


def in_mm(value_mm: float) -> str:
    """A default as its option is written."""
    return f"{value_mm:g} mm"


def length_of(text: str, option: str) -> float:
    """A length from the command line in mm, the option named where it cannot be read."""
    try:
        return clearance.length_mm(text)
    except clearance.UnitError as wrong:
        raise clearance.UnitError(f"{option}: {wrong}") from None


def length_option(text: str | None, option: str) -> float | None:
    """The same of an option that may be left out."""
    return None if text is None else length_of(text, option)


def rims_in(texts: list[str] | None, option: str) -> list[float] | None:
    """Rim widths or diameters from the command line, in inches; None where there are none."""
    return [length_of(text, option) / clearance.MM_PER_INCH for text in texts or ()] or None


def length_within(text: str, option: str, least_mm: float, most_mm: float) -> float:
    """A length from the command line that lies between two ends, in mm."""
    value = length_of(text, option)
    if not least_mm <= value <= most_mm:
        raise clearance.UnitError(f'{option} "{text}" is {value:g} mm; choose from {least_mm:g} mm to {most_mm:g} mm.')
    return value


def picture_at(place: Path | None, drawn: Callable[[], Sequence[str]], what: str) -> dict[Path, bytes]:
    """The first picture, where it was asked for; `what` begins the sentence that says how it is drawn."""
    if place is None:
        return {}
    if place.suffix.lower() != ".svg":
        raise clearance.OutputError(f"{place}: {what} drawn as .svg. Write --picture {place.stem}.svg.")
    return {place: drawn()[0].encode()}
