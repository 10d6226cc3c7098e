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
    from clearance.well.part import Part
    from clearance.well.scan_doubt import Touch

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

    from clearance.corner_file.load import load
    from clearance.gap.cycle import over_cycle
    from clearance.report.findings import as_json as to_json
    from clearance.report.findings import findings_of

    tolerance_mm = _within(tolerance, "--tolerance", _LEAST_MM, _MOST_MM)
    slack_mm = _within(slack, "--slack", 0.1, 20.0)
    progress = Progress()
    mockup = load(file)
    gaps = over_cycle(mockup, tolerance_mm=tolerance_mm, work=work, progress=progress)
    doubts = placing_doubts(mockup, gaps)
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


def placing_doubts(mockup: MockUp, gaps: Sequence[Gap]) -> tuple[str, ...]:
    """What speaks against the place of each part: of a scan from its shape, and of any that touches as the car stands.

    What the corner file's reader has already said, of a scan, a wall, a tub or a lip, is in the mock-up's warnings and
    is left out here.
    """
    from clearance.well.part_kinds import PART_KINDS
    from clearance.well.scan_doubt import doubts, touching_at_ride, touching_part

    found: list[str] = []
    for part, gap in zip(mockup.parts, gaps, strict=True):
        touch = _touch(mockup, part) if gap.at_most_mm < 0 and PART_KINDS[part.kind].stands_free else None
        if part.kind != "mesh":
            found += [touching_part(part.name, touch)] if touch is not None else []
        elif part.rides_on == "body":
            found += doubts(part, tire_radius_mm=mockup.tire.full_diameter_mm / 2, touch=touch)
        elif touch is not None:
            # what moves with the wheel, a brake say, is no wheel well: its size and side say nothing
            found.append(touching_at_ride(part.name, touch, part.uncertainty_mm))
    return tuple(doubt for doubt in dict.fromkeys(found) if doubt and doubt not in mockup.warnings)


def _touch(mockup: MockUp, part: Part) -> Touch | None:
    """Where the tire touches a part as the car stands, straight ahead, and whether moving a scan so far frees it."""
    from dataclasses import replace

    from clearance.gap.still import at_position
    from clearance.pose import read_only
    from clearance.suspension.position import Position
    from clearance.well.scan_doubt import Touch

    low, high = mockup.suspension.cycle.steer_deg
    standing = Position(steer_deg=min(max(0.0, low), high))
    ride = at_position(mockup, standing, tolerance_mm=0.5, parts=[part.name])[0]
    if ride.at_most_mm >= 0:
        return None
    freed = False
    if part.kind == "mesh":
        # the half millimetre is the tolerance
        step = (0.5 - ride.at_most_mm) * ride.toward_part
        moved = replace(part, triangles_mm=read_only(part.triangles_mm + step))
        freed = at_position(replace(mockup, parts=(moved,)), standing, tolerance_mm=0.5)[0].at_most_mm >= 0
    return Touch(depth_mm=-ride.at_most_mm, on_part_mm=ride.on_part_mm, toward_part=ride.toward_part, freed=freed)


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


def page(findings: Mapping[str, Any], out: Path | None) -> str:
    """The findings as a fabricator reads them in a terminal: worst first, ending with one sentence."""
    from clearance.report.sentence import gap_words, promise_words, verdict_sentence
    from clearance.units import both

    tire, wheel = findings["tire"], findings["wheel"]
    lines = [
        findings["title"] or "Corner",
        f"  {findings['corner']}: {tire['marking'] or 'tire'}, {both(tire['overall_diameter'])} high and"
        f" {both(tire['section_width'])} wide ({tire['source']})",
        f"  on {wheel['diameter_in']:g} x {wheel['width_in']:g} in, backspace {both(wheel['backspace'])},"
        f" offset {wheel['offset']:.1f} mm",
        f"  {_cycle_words(findings['cycle'])}; {promise_words(findings)}",
        "",
    ]
    for warning in findings["warnings"]:
        lines += [f"  Note: {warning}", ""]
    width = max([len(part["name"]) for part in findings["parts"]] + [4])
    told = [gap_words(part, findings["tolerance"]) for part in findings["parts"]]
    room = max([19, *map(len, told)])
    lines.append(f"  {'':9} {'part':<{width}}  {'gap':>{room}}  {'must keep':>19}  where the tire is")
    for part, gap in zip(findings["parts"], told, strict=True):
        lines += _row(part, findings, gap.rjust(room), width)
    if out is not None:
        lines += ["", f"  Wrote {len(findings['files'])} files to {out}: open {out / 'report.html'} first."]
    lines += ["", verdict_sentence(findings)]
    return "\n".join(lines)


def _row(part: Mapping[str, Any], findings: Mapping[str, Any], gap: str, width: int) -> list[str]:
    from clearance.report.sentence import position_words
    from clearance.units import both

    when = "every position" if part["every_position"] else position_words(part["position"], findings["cycle"], None)
    uncertain = f", give or take {both(part['uncertainty'])}" if part["uncertainty"] else ""
    indent = " " * 12
    return [
        f"  {part['verdict']:<9} {part['name']:<{width}}  {gap}  {both(part['required']):>19}  {when}",
        f"{indent}{part['tire_region']}; {part['where']}{uncertain}",
        *(f"{indent}{why}" for why in part["why"]),
    ]


def _cycle_words(cycle: Mapping[str, Any]) -> str:
    from clearance.units import both

    low, high = cycle["bump"]
    words = f"travel {both(-low)} down, {both(high)} up"
    if cycle["other_bump"] != [0, 0]:
        words += f", the other side {both(-cycle['other_bump'][0])} down, {both(cycle['other_bump'][1])} up"
    if cycle["steer"] != [0, 0]:
        words += f", lock {cycle['steer'][1]:.1f} deg left, {-cycle['steer'][0]:.1f} deg right"
    return words
