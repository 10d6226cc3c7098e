"""What leaves for the shop: envelopes with templates and a tub, gauges, measuring sheets. Each gives its files by name.

Files are, or will be, in `folder`; it is named in the words and nothing is written here.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from clearance import defaults
from clearance.answers.checked import silent
from clearance.door.answer import Answer
from clearance.door.questions import Progress, check, drawings_of, largest_required_mm
from clearance.errors import ShapeError, UnitError
from clearance.mockup.mockup import MockUp
from clearance.plain import echoed
from clearance.units import angle_deg, length_mm, sides_mm

if TYPE_CHECKING:
    from clearance.envelope.build import Envelope
    from clearance.export.stl import Body
    from clearance.gap.found import Gap
    from clearance.gauge.flat import FlatGauge, Sheet
    from clearance.gauge.making import Making
    from clearance.gauge.mock_gauge import Gauge
    from clearance.gauge.templates import Template, Tub
    from clearance.gauge.tub_solid import TubMaking, TubSolid

_STEPS = 4


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Swept:
    """The envelope, the same grown by the required gap, and what is cut from the grown one."""

    envelope: Envelope
    grown: Envelope
    templates: tuple[Template, ...]
    tub: Tub
    solid: TubSolid
    """The tub in sheet."""
    gap: Gap | None
    """Of the tub, put back into the check; None where nothing but ride height is known."""


def templates_of(
    corner: MockUp,
    *,
    required_mm: float | None = None,
    every_mm: float = defaults.TEMPLATE_EVERY_MM,
    cut: str = "station",
    tub_from_mm: float = 0.0,
    making: TubMaking | None = None,
    step: bool = False,
    usdz: bool = False,
    slack_mm: float = defaults.SLACK_MM,
    paper: str = "A4",
    folder: Path = Path("envelope"),
    progress: Progress = silent,
) -> tuple[dict[str, bytes], Answer[Swept]]:
    """Everything that the tire and wheel reach, as solids and as templates, and a tub to go round it.

    It is grown by `required_mm`, or by the largest gap that anything on the body must keep; templates and tub are of
    what lies higher than `tub_from_mm` above the axle, the floor or the sill line. `making` says how the
    tub is made (`tub_making`); it is put back into the check. With `step` or `usdz` both
    as such files too. Raises
    ShapeError for a cut or a paper that is none, OutputError where containment cannot be proven, or without the kernel.
    """
    from clearance.envelope.build import envelopes_of
    from clearance.export import usdz as phone
    from clearance.export.papers import pattern_paper
    from clearance.export.step import refuse_missing
    from clearance.export.templates import solid_files, template_files
    from clearance.export.tub import envelope_step, tub_files
    from clearance.facts.envelope import facts, paper_facts, tub_facts
    from clearance.gauge import templates
    from clearance.gauge.body import settled
    from clearance.words.envelope import page

    if step:
        refuse_missing()
    if usdz:
        phone.refuse_missing()
    chosen = pattern_paper(paper)
    templates.check_cut(cut, every_mm)
    grow = largest_required_mm(corner) if required_mm is None else required_mm
    progress(0, _STEPS, "sweeping the tire")
    tight, wide = envelopes_of(
        corner,
        (0.0, grow),
        slack_mm=slack_mm,
        processes=2,
        progress=lambda done, of: progress(done, _STEPS, "sweeping the tire"),
    )
    progress(2, _STEPS, "cutting templates")
    bodies = {"envelope": settled(tight.vertices_mm, tight.faces)}
    grown = bodies["envelope-required"] = settled(wide.vertices_mm, wide.faces)
    cuts = templates.templates_of(
        *grown, cut, every_mm, right_hand=corner.right_hand, title=corner.title, from_mm=tub_from_mm
    )
    tub = templates.tub_of(*grown, tub_from_mm)
    made = making or tub_making()
    solid, gap, room_mm = _tub_checked(corner, grown, tub, made, from_mm=tub_from_mm, required_mm=grow)
    progress(3, _STEPS, "writing")
    index = templates.index_of(*grown, cuts, tub_from_mm)
    template, template_paper = template_files(corner, cuts, index, chosen)
    tubs, tub_paper = tub_files(corner, solid, gap, chosen, step=step)
    files = {**solid_files(corner, bodies), **template, **tubs}
    if usdz:
        for name, body in (("envelope", bodies), ("tub", {piece.name: piece.mesh() for piece in solid.pieces})):
            files[f"{name}.usdz"] = phone.usdz(body, right_hand=corner.right_hand)
    if step:
        files["envelope.step"] = envelope_step(corner, grow)
    said = facts(
        corner,
        grow,
        tight,
        wide,
        cuts,
        tub_facts(corner, tub, solid, made, gap, room_mm),
        sorted(files),
        paper_facts({"templates.pdf": template_paper, "tub.pdf": tub_paper}),
        asked_slack_mm=slack_mm,
    )
    found = Swept(envelope=tight, grown=wide, templates=tuple(cuts), tub=tub, solid=solid, gap=gap)
    return files, Answer(
        value=found, corner=corner, told=lambda: "\n".join(page(said, folder)), plain=lambda: said, listed="templates"
    )


def tub_making(
    *,
    sheet_mm: float = defaults.TUB_SHEET_MM,
    flange_mm: float = 0.0,
    tabs_mm: float | None = None,
    arch: str | None = None,
    longest_mm: float | None = None,
    trimmed: bool = True,
    ends: str | None = None,
) -> TubMaking:
    """How a tub is made: its sheet, what it is welded by, tabs along the outer edge, where an arch ends ("30 deg, 50
    deg" ahead of and behind straight up about the axle), the longest piece of its crown, whether lips and boxes
    trim it, and where else it `ends`, as measured on the car: "110 mm outboard, 400 mm ahead, 15 in behind".

    Raises ShapeError for what cannot be made.
    """
    from clearance.gauge.tub_solid import TubMaking

    return TubMaking(
        sheet_mm=sheet_mm,
        flange_mm=flange_mm,
        tabs_mm=tabs_mm,
        arch_deg=None if arch is None else _arch(arch),
        longest_mm=longest_mm,
        trimmed=trimmed,
        **({} if ends is None else _ends(ends)),
    )


def _ends(text: str) -> dict[str, float]:
    """How far outboard, ahead and behind a tub may go, in mm, by the key of its making."""
    found: dict[str, float] = {}
    for one in text.split(","):
        length, _, way = one.strip().rpartition(" ")
        if way not in ("outboard", "ahead", "behind") or f"{way}_mm" in found:
            raise ShapeError(
                f"{echoed(text)} does not say where a tub ends. Write how far it goes from hub face and axle, each way"
                ' once: "110 mm outboard, 400 mm ahead, 15 in behind".'
            )
        try:
            found[f"{way}_mm"] = length_mm(length)
        except UnitError as wrong:
            raise ShapeError(f"where a tub ends {way}: {wrong}") from None
    return found


def _arch(text: str) -> tuple[float, float]:
    try:
        ahead, behind = (angle_deg(one.strip()) for one in text.split(","))
    except (UnitError, ValueError):
        raise ShapeError(
            f'{echoed(text)} is no arch. Write the angles ahead and behind, from straight up: "30 deg, 50 deg".'
        ) from None
    return ahead, behind


def _tub_checked(
    corner: MockUp, grown: Body, tub: Tub, made: TubMaking, *, from_mm: float, required_mm: float
) -> tuple[TubSolid, Gap | None, float]:
    """The tub in sheet, its gap over the whole cycle, and how far at most its inside stands off what it goes round."""
    from clearance.answers.checked import gaps_of
    from clearance.gauge.tub_solid import room_left_mm, tub_solid

    solid = tub_solid(tub, from_mm, made, corner.parts)
    gap = None
    if corner.unmeasured is None or not corner.unmeasured.travel:
        names = [part.name for part in corner.parts]
        name = next(n for n in (f"new tub{k or ''}" for k in range(len(names) + 1)) if n not in names)
        with_tub = replace(corner, parts=(*corner.parts, solid.part(name, required_mm)))
        gap = gaps_of(with_tub, (name,))[0]
    return solid, gap, room_left_mm(solid, grown[0], grown[1])


def draw(
    corner: MockUp, *, paper: str = "a4", full_size: str = "", step: bool = False, folder: Path = Path("drawings")
) -> tuple[dict[str, bytes], Answer[tuple[str, ...]]]:
    """The corner measured and drawn to scale, as `drawings_of` does; the answer names the files.

    With `step`, corner.step too: wheel and tire with their true surfaces, and every part that is no scan, at ride
    height. Raises InputError for a paper or view that is none, OutputError where the CAD kernel is not installed.
    """
    from clearance.export.step import corner_step
    from clearance.facts.draw import facts
    from clearance.words.draw import page

    solid = {"corner.step": corner_step(corner)} if step else {}
    files = {**drawings_of(check(corner), paper=paper, full_size=full_size), **solid}
    names = tuple(files)
    return files, Answer(
        value=names,
        corner=corner,
        told=partial(page, corner, names, folder),
        plain=partial(facts, corner, names),
    )


def printed_gauge(
    corner: MockUp,
    *,
    making: Making | None = None,
    over_mm: float = defaults.OVER_MM,
    step: bool = False,
    paper: str = "A4",
    folder: Path = Path("gauge"),
) -> tuple[dict[str, bytes], Answer[Gauge]]:
    """A mock-up of the wheel and tire to print, bolt to the hub and cycle the suspension with.

    `making` is from `making_of`. With `step`, gauge.step too, with true surfaces. Raises ShapeError where it cannot be
    made so, OutputError where the CAD kernel is not installed.
    """
    from clearance.export import step as cad
    from clearance.export.gauge_files import printed_files
    from clearance.export.gauge_step import gauge_step
    from clearance.export.papers import paper_named
    from clearance.facts.gauge import printed
    from clearance.gauge.mock_gauge import gauge_for

    if step:
        cad.refuse_missing()
    chosen = paper_named(paper)
    found = gauge_for(corner, making or making_of(), over_mm=over_mm)
    files = printed_files(found, corner, chosen)
    if step:
        files["gauge.step"] = gauge_step(found)
    return files, _gauge(corner, found, printed(found), files, folder)


def flat_gauge(
    corner: MockUp,
    kind: str,
    *,
    sheet: str = defaults.by(defaults.SHEET_MM),
    thickness_mm: float = defaults.SHEET_THICKNESS_MM,
    kerf_mm: float = defaults.KERF_MM,
    also_mm: Sequence[float] = (),
    ends: str = "planed",
    making: Making | None = None,
    paper: str = "A4",
    folder: Path = Path("gauge"),
) -> tuple[dict[str, bytes], Answer[FlatGauge]]:
    """The same as patterns for plywood, foam board or sheet metal: "rings" for a laminated tire, "blade" for a section.

    `sheet` is width x height, bare numbers in mm; `also_mm` are other thicknesses that it is sold in, for what is no
    whole number of layers; `ends` says what becomes of the last layers: "planed" to where the tire ends, left "whole",
    or left out and the stack "short". Raises ShapeError for a kind or a sheet that is none.
    """
    from clearance.export.gauge_files import flat_files
    from clearance.export.papers import paper_named
    from clearance.facts.gauge import laid_flat
    from clearance.gauge.flat import blade_flat, ring_stack

    chosen = paper_named(paper)
    kinds = {"rings": ring_stack, "blade": blade_flat}
    stock = replace(_sheet(sheet, thickness_mm, kerf_mm), also_mm=tuple(also_mm), ends=ends)
    if kind not in kinds:
        raise ShapeError(f'--flat "{kind}" is not known. Write "rings" for a laminated tire or "blade" for a section.')
    found = kinds[kind](corner, stock, making or making_of())
    files = flat_files(found, corner, chosen)
    return files, _gauge(corner, found, laid_flat(found), files, folder)


def _gauge(corner: MockUp, found: Any, said: dict[str, Any], files: Mapping[str, bytes], folder: Path) -> Answer[Any]:
    from clearance.words.gauge import page

    whole = {**said, "files": sorted(files), "warnings": [*corner.warnings, *said["warnings"]]}
    return Answer(
        value=found,
        corner=corner,
        told=lambda: "\n".join(page(whole, folder)),
        plain=lambda: whole,
        listed="pieces",
    )


def making_of(
    *,
    bed: str = defaults.by(defaults.BED_MM),
    fit_mm: float = defaults.FIT_MM,
    plate_mm: float = defaults.PLATE_MM,
    stud_mm: float | None = None,
    nut_mm: float = defaults.NUT_MM,
) -> Making:
    """How a gauge is made: the printer's bed and height in mm, what is left between printed faces, the blade's
    thickness, the hub's studs where the corner file has no thread, and the room round a nut.

    Raises ShapeError for a bed that is none.
    """
    from clearance.gauge.making import Making, bed_of

    return Making(bed=bed_of(bed), fit_mm=fit_mm, plate_mm=plate_mm, stud_mm=stud_mm, nut_mm=nut_mm)


def _sheet(size: str, thickness_mm: float, kerf_mm: float) -> Sheet:
    from clearance.gauge.flat import Sheet

    try:
        width_mm, height_mm = sides_mm(size, 2)
    except UnitError:
        raise ShapeError(
            f"{echoed(size)} is not a sheet. Write width x height in mm or in inches: "
            f'"{defaults.by(defaults.SHEET_MM)}", "24 in x 48 in".'
        ) from None
    return Sheet(width_mm=width_mm, height_mm=height_mm, thickness_mm=thickness_mm, kerf_mm=kerf_mm)
