"""`clearance check`: does everything clear, everywhere in the travel and steering?"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer
from clearance_cli.out import Progress, say, write_all, write_places

if TYPE_CHECKING:
    from clearance.envelope.build import Envelope
    from clearance.gap.found import Gap
    from clearance.mockup.mockup import MockUp

EXIT_CODES = {"clears": 0, "tight": 1, "hits": 1, "undecided": 3}
"""2 is an input that is wrong."""
_LEAST_MM, _MOST_MM = 0.005, 5.0


def command(
    file: Annotated[Path, typer.Argument(help="The corner file.", show_default=False)],
    out: Annotated[
        Path | None, typer.Option("--out", "-o", help="Folder for the report, STL, GLB and findings.")
    ] = None,
    tolerance: Annotated[str, typer.Option(help="How closely each gap is bracketed.")] = "0.05 mm",
    slack: Annotated[str, typer.Option(help="How far outside the truth the envelope may lie.")] = "0.5 mm",
    work: Annotated[int | None, typer.Option(help="Boxes that may be looked at for one part.", min=1000)] = None,
    certificate: Annotated[
        Path | None,
        typer.Option(help="Write what proves the answer to this file, for `clearance verify`. Takes its time."),
    ] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print only the findings, as JSON.")] = False,
) -> int:
    """Does everything clear, everywhere in the travel and steering, by how much, and what is closest?

    Exit code 0: every part clears. 1: something is tight or hits. 2: the input is wrong. 3: undecided.
    """

    from clearance.answers.placing import doubts_of_places
    from clearance.description.load import load
    from clearance.gap.cycle import over_cycle
    from clearance.report.findings import as_json as to_json
    from clearance.report.findings import findings_of
    from clearance.words.check import page

    tolerance_mm = _within(tolerance, "--tolerance", _LEAST_MM, _MOST_MM)
    slack_mm = _within(slack, "--slack", 0.1, 20.0)
    progress = Progress()
    mockup = load(file)
    gaps = over_cycle(mockup, tolerance_mm=tolerance_mm, work=work, progress=progress)
    doubts = doubts_of_places(mockup, gaps)
    envelopes: list[tuple[str, Envelope]] = []
    findings = findings_of(mockup, gaps, tolerance_mm=tolerance_mm, warnings=doubts, versions=versions())
    files: dict[str, bytes] = {}
    if out is not None:
        files, findings, envelopes = _files(mockup, gaps, findings, slack_mm, progress)
    proof = {} if certificate is None else {certificate: _certificate(mockup, gaps, envelopes, progress)}
    if out is not None:
        write_all(out, files, of="check", beside=proof)
    elif proof:
        write_places(proof)
    progress.close()
    if as_json:
        say(to_json(findings).decode().rstrip("\n"))
    else:
        say(page(findings, out))
    return EXIT_CODES[findings["verdict"]]


def _within(text: str, option: str, least_mm: float, most_mm: float) -> float:
    from clearance.errors import UnitError
    from clearance.units import length_mm

    try:
        value = length_mm(text)
    except UnitError as wrong:
        raise UnitError(f"{option}: {wrong}") from None
    if not least_mm <= value <= most_mm:
        raise UnitError(f'{option} "{text}" is {value:g} mm; choose from {least_mm:g} mm to {most_mm:g} mm.')
    return value


def versions() -> dict[str, str]:
    """The versions whose arithmetic is in the numbers."""
    from importlib.metadata import version

    return {"clearance": version("wheelwell-clearance"), "numpy": version("numpy")}


def _files(
    mockup: MockUp, gaps: Sequence[Gap], findings: Mapping[str, Any], slack_mm: float, progress: Any
) -> tuple[dict[str, bytes], dict[str, Any], list[tuple[str, Envelope]]]:
    """Every file of the answer, the findings as they stand in them, and the envelopes."""
    from clearance_cli.shapes import shapes_of

    from clearance.report.findings import as_json as to_json

    shapes, remarks, envelopes = shapes_of(mockup, gaps, slack_mm, progress)
    names = sorted([*shapes, "findings.json", "report.html"])
    whole = {**findings, "files": names, "warnings": [*findings["warnings"], *remarks]}
    progress(0, 1, "laying out the report")
    from clearance.report.page import write_report

    files = {**shapes, "findings.json": to_json(whole), "report.html": write_report(mockup, gaps, whole)}
    return files, whole, envelopes


def _certificate(
    mockup: MockUp, gaps: Sequence[Gap], envelopes: Sequence[tuple[str, Envelope]], progress: Any
) -> bytes:
    from clearance.certificate.claims import certificate_of

    return certificate_of(mockup, gaps, envelopes=envelopes, progress=progress)
