"""`clearance envelope`: the shape that a tub must stay outside of, and templates to build it to."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer
from clearance_cli.out import Progress, say, show, write_all

if TYPE_CHECKING:
    from clearance.envelope.build import Envelope
    from clearance.export.pdf import Paper
    from clearance.export.stl import Body
    from clearance.gauge.templates import Template, Tub
    from clearance.mockup.mockup import MockUp

CAUTION = (
    "A tub is structure on many cars: where rails, mounts or panels are cut, the strength that goes must come back, and"
    " local law may ask for an inspection. Car on stands, springs out, before you hold a template in the well."
)


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

    from clearance.corner_file.load import load
    from clearance.envelope.build import envelopes_of
    from clearance.export.pdf import paper_named
    from clearance.gauge.body import settled
    from clearance.gauge.templates import check_cut, templates_of, tub_of
    from clearance.units import length_mm

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
    said = _said(mockup, grow, tight, wide, templates, tub, [p.name for p in written])
    if as_json:
        show(said)
        return
    for row in _told(said, out):
        say(row)


def solid_files(mockup: MockUp, bodies: Mapping[str, Body]) -> dict[str, bytes]:
    """The envelope and the grown envelope for printers, CAD and viewers."""
    from clearance.export.solid_glb import solid_glb
    from clearance.export.stl import real_side, stl
    from clearance.export.three_mf import Mesh, three_mf

    files: dict[str, bytes] = {}
    for name, body in bodies.items():
        vertices, faces = real_side(*body, right_hand=mockup.right_hand)
        files[f"{name}.stl"] = stl([body], name=name, right_hand=mockup.right_hand)
        files[f"{name}.3mf"] = three_mf([Mesh(name=name, vertices_mm=vertices, faces=faces)], title=mockup.title)
        files[f"{name}.glb"] = solid_glb({name: body}, right_hand=mockup.right_hand)
    return files


def template_files(mockup: MockUp, templates: Sequence[Template], tub: Tub, paper: Paper) -> dict[str, bytes]:
    """A DXF to each template and to the tub; all the templates, and the tub, at 1:1 on pages."""
    from clearance.export.dxf import dxf
    from clearance.export.pdf import Page, pdf, tiled

    files = {f"{t.name}.dxf": dxf(t.drawing) for t in templates}
    pages: list[Page] = []
    for t in templates:
        pages += tiled(t.drawing, paper=paper, title=t.name)
    files["templates.pdf"] = pdf(pages, title=f"{mockup.title}: templates")
    files["tub.dxf"] = dxf(tub.drawing)
    files["tub.pdf"] = pdf(tiled(tub.drawing, paper=paper, title="tub"), title=f"{mockup.title}: tub")
    return files


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


def _said(
    mockup: MockUp,
    grow: float,
    tight: Envelope,
    wide: Envelope,
    templates: Sequence[Template],
    tub: Tub,
    files: Sequence[str],
) -> dict[str, Any]:
    box = wide.vertices_mm
    return {
        "title": mockup.title,
        "warnings": list(mockup.warnings),
        "required_mm": grow,
        "envelope": {
            "triangles": len(tight.faces),
            "holds_everything": bool(tight.standoff_mm >= 0.0),
            "slack_mm": round(float(tight.slack_mm), 3),
        },
        "envelope_required": {
            "triangles": len(wide.faces),
            "holds_everything": bool(wide.standoff_mm >= 0.0),
            "slack_mm": round(float(wide.slack_mm), 3),
            "ahead_mm": [round(float(box[:, 0].min()), 1), round(float(box[:, 0].max()), 1)],
            "outboard_mm": [round(float(box[:, 1].min()), 1), round(float(box[:, 1].max()), 1)],
            "above_mm": [round(float(box[:, 2].min()), 1), round(float(box[:, 2].max()), 1)],
        },
        "templates": [t.name for t in templates],
        "tub": {
            "crown_long_mm": round(tub.length_mm, 1),
            "crown_wide_mm": round(tub.outboard_mm - tub.inboard_mm, 1),
            "inboard_mm": round(tub.inboard_mm, 1),
            "outboard_mm": round(tub.outboard_mm, 1),
        },
        "files": list(files),
    }


def _told(said: dict[str, Any], out: Path) -> list[str]:
    from clearance.units import both

    wide, tub = said["envelope_required"], said["tub"]
    rows = [said["title"], *(f"  Note: {warning}" for warning in said["warnings"])]
    rows.append(f"grown by the required gap, {both(said['required_mm'])}:")
    for word in ("ahead", "outboard", "above"):
        low, high = wide[f"{word}_mm"]
        rows.append(f"  {word:>8}: {both(low)} to {both(high)}")
    held = "holds every position" if wide["holds_everything"] else "NOT PROVEN to hold every position"
    rows += [
        f"  {held}; nowhere more than {wide['slack_mm']:.2f} mm outside the true shape",
        "",
        f"tub: crown {both(tub['crown_long_mm'])} long, {both(tub['crown_wide_mm'])} wide,"
        f" inner panel {both(tub['inboard_mm'])} from the hub face (outboard positive)",
        f"{len(said['templates'])} templates, {said['templates'][0]} to {said['templates'][-1]}",
        "",
        CAUTION,
        "",
        f"{len(said['files'])} files in {out}",
    ]
    return rows
