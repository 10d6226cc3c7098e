"""`clearance check`: does everything clear, everywhere in the travel and steering?"""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer
from clearance_cli.heap import large_apart, large_kept
from clearance_cli.options import (
    EXIT_CODES,
    Csv,
    Units,
    Which,
    corner_or_car,
    folder_ahead,
    in_mm,
    length_within,
    place_ahead,
    table_at,
    triangles_in,
)
from clearance_cli.out import Progress, say, show, write_answer

import clearance
from clearance import defaults

_LEAST_MM, _MOST_MM = 0.005, 5.0
_MANY = 200_000
"""Triangles from which on what their arrays took is given back at once, which takes its time."""


def command(
    file: Annotated[
        Path, typer.Argument(help="The corner or car file; - reads it from standard input.", show_default=False)
    ],
    out: Annotated[
        Path | None,
        typer.Option("--out", "-o", callback=folder_ahead, help="Folder for the report, STL, GLB and findings."),
    ] = None,
    tolerance: Annotated[str, typer.Option(help="How closely each gap is bracketed.")] = in_mm(defaults.TOLERANCE_MM),
    slack: Annotated[str, typer.Option(help="How far outside the truth the envelope may lie.")] = in_mm(
        defaults.SLACK_MM
    ),
    work: Annotated[int | None, typer.Option(help="Boxes that may be looked at for one part.", min=1000)] = None,
    certificate: Annotated[
        Path | None,
        typer.Option(
            callback=place_ahead,
            help="Write what proves the answer to this file, for `clearance verify`. Takes its time.",
        ),
    ] = None,
    which: Which = None,
    units: Units = None,
    csv: Csv = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print only the findings, as JSON.")] = False,
) -> int:
    """Does everything clear, everywhere in the travel and steering, by how much, and what is closest?

    Exit code 0: every part clears. 1: something is tight or hits. 2: the input is wrong. 3: undecided.
    """
    tolerance_mm = length_within(tolerance, "--tolerance", _LEAST_MM, _MOST_MM)
    slack_mm = length_within(slack, "--slack", 0.1, 20.0)
    progress = Progress()
    large_apart()
    asked = corner_or_car(file, units, which)
    if triangles_in(asked) < _MANY:
        large_kept()
    if isinstance(asked, clearance.Car):
        return _car(asked, tolerance_mm, slack_mm, work, out, certificate, csv, as_json)
    found = clearance.check(asked, tolerance_mm=tolerance_mm, work=work, progress=progress)
    files: dict[str, bytes] = {}
    envelopes: tuple[tuple[str, clearance.Envelope], ...] = ()
    if out is not None:
        files, found, envelopes = clearance.check_files(found, slack_mm=slack_mm, folder=out, progress=progress)
    beside = table_at(csv, found)
    if certificate is not None:
        beside[certificate] = clearance.certificate_of(found, envelopes=envelopes, progress=progress)
    write_answer(out, files, of="check", beside=beside)
    progress.close()
    if as_json:
        say(clearance.findings_text(found))
    else:
        say(found.words())
    return EXIT_CODES[found.value.verdict]


def _car(
    car: clearance.Car,
    tolerance_mm: float,
    slack_mm: float,
    work: int | None,
    out: Path | None,
    certificate: Path | None,
    csv: Path | None,
    as_json: bool,
) -> int:
    """Every corner of the car."""
    if certificate is not None:
        raise clearance.InputError("a certificate is of one corner. Name it: --corner rear-left.")
    progress = Progress()
    found = clearance.check_car(car, tolerance_mm=tolerance_mm, work=work, progress=progress)
    files: dict[str, bytes] = {}
    if out is not None:
        files, found = clearance.car_files(car, found, slack_mm=slack_mm, folder=out, progress=progress)
    write_answer(out, files, of="check", beside=table_at(csv, found))
    progress.close()
    if as_json:
        show(found.to_dict())
    else:
        say(found.words())
    return EXIT_CODES[found.value.verdict]
