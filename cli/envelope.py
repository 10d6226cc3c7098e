"""`clearance envelope`: the shape that a tub must stay outside of, and templates to build it to."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer
from clearance_cli.out import Progress, say, show, write_all

if TYPE_CHECKING:
    from clearance.mockup.mockup import MockUp


def command(
    file: Annotated[Path, typer.Argument(help="The corner file.", show_default=False)],
    required: Annotated[
        str | None,
        typer.Option(help="Grow by this gap; the largest that any part riding on the body must keep if not given."),
    ] = None,
    every: Annotated[str, typer.Option(help="From one template to the next.")] = "50 mm",
    cut: Annotated[
        str, typer.Option(help='Across the car: "station"; flat: "level"; along it: "upright".')
    ] = "station",
    tub_from: Annotated[str, typer.Option(help="How high above the axle the tub's feet end.")] = "0 mm",
    slack: Annotated[str, typer.Option(help="How far outside the truth the envelope may lie.")] = "0.5 mm",
    paper: Annotated[str, typer.Option(help='Of the 1:1 pages: "A4" or "Letter".')] = "A4",
    out: Annotated[Path, typer.Option(help="Folder for the files.")] = Path("envelope"),
    as_json: Annotated[bool, typer.Option("--json", help="Print only JSON.")] = False,
) -> None:
    """Everything that the tire and wheel reach in the whole travel and steering, as a solid and as templates.

    Writes the envelope and the envelope grown by the required gap as STL, 3MF and GLB, cuts of the grown one as DXF and
    1:1 PDF with lines at round distances from hub face and axle, and a tub to go round it: a flat inner panel and a
    crown that unrolls.
    """

    from clearance.description.load import load
    from clearance.envelope.build import envelopes_of
    from clearance.export.pdf import paper_named
    from clearance.export.templates import solid_files, template_files
    from clearance.facts.envelope import facts
    from clearance.gauge.body import settled
    from clearance.gauge.templates import check_cut, templates_of, tub_of
    from clearance.units import length_mm
    from clearance.words.envelope import page

    chosen, slack_mm = paper_named(paper), _slack_mm(slack)
    step_mm, feet_mm = length_mm(every), length_mm(tub_from)
    check_cut(cut, step_mm)
    progress = Progress(quiet=as_json)
    mockup = load(file)
    grow = _grow_mm(mockup) if required is None else _gap_mm(required)
    progress(0, 4, "sweeping the tire")
    tight, wide = envelopes_of(
        mockup,
        (0.0, grow),
        slack_mm=slack_mm,
        processes=2,
        progress=lambda done, of: progress(done, 4, "sweeping the tire"),
    )
    progress(2, 4, "cutting templates")
    bodies = {"envelope": settled(tight.vertices_mm, tight.faces)}
    bodies["envelope-required"] = settled(wide.vertices_mm, wide.faces)
    grown = bodies["envelope-required"]
    templates = templates_of(*grown, cut, step_mm, right_hand=mockup.right_hand, title=mockup.title)
    tub = tub_of(*grown, feet_mm, title=mockup.title)
    progress(3, 4, "writing")
    files = {**solid_files(mockup, bodies), **template_files(mockup, templates, tub, chosen)}
    progress.close()
    written = write_all(out, files, of="envelope")
    said = facts(mockup, grow, tight, wide, templates, tub, [p.name for p in written])
    if as_json:
        show(said)
        return
    for row in page(said, out):
        say(row)


def _grow_mm(mockup: MockUp) -> float:
    return max((p.required_mm for p in mockup.parts if p.rides_on == "body"), default=0.0)


def _gap_mm(text: str) -> float:
    from clearance.errors import UnitError
    from clearance.units import length_mm

    gap = length_mm(text)
    if not 0 <= gap <= 300:
        raise UnitError(f'--required "{text}" is not usable as a gap; write "0 mm" to "300 mm".')
    return gap


def _slack_mm(text: str) -> float:
    from clearance.errors import UnitError
    from clearance.units import length_mm

    slack = length_mm(text)
    if not 0.2 <= slack <= 10:
        raise UnitError(f'--slack "{text}" is not usable; write "0.2 mm" to "10 mm".')
    return slack
