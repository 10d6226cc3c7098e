"""Every question, asked of a corner: each gives an `Answer`.

The heavy rooms are loaded when a question needs them.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from importlib.metadata import version
from pathlib import Path
from typing import TYPE_CHECKING, Any

from clearance.answers.checked import silent
from clearance.defaults import HEIGHT_STEP_MM, RELIEF_SLACK_MM, SLACK_MM, TOLERANCE_MM
from clearance.door.answer import Answer
from clearance.errors import InputError
from clearance.mockup.mockup import MockUp
from clearance.units import led_by

if TYPE_CHECKING:
    from clearance.answers.budget import Budget
    from clearance.answers.compare import LeftRight, Measure, PartChange
    from clearance.answers.largest import Largest
    from clearance.answers.least_change import LeastChange
    from clearance.answers.other import Cover, LoadState, Room
    from clearance.answers.received import Received
    from clearance.answers.relief import Relief, ReliefMap
    from clearance.answers.room import Room as RoomLeft
    from clearance.answers.swap import Swap
    from clearance.answers.window import Window
    from clearance.certificate.claims import Checked, CheckedEnvelope
    from clearance.envelope.alike import Wait
    from clearance.envelope.build import Envelope
    from clearance.gap.found import Gap
    from clearance.suspension.path import Step
    from clearance.tire.catalog import Listed
    from clearance.wheel.inspection import Measured
    from clearance.zones.zone import Zone

Progress = Callable[[int, int, str], None]
"""Told how many of how many are done, and what is being done."""


# ---- the main job


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Check:
    """Every gap over the whole cycle, and what was found in them."""

    gaps: tuple[Gap, ...]
    findings: Mapping[str, Any]
    """As findings.json has them; see docs/findings.schema.json."""

    @property
    def verdict(self) -> str:
        """clears, tight, hits or undecided: the worst of all parts."""
        return str(self.findings["verdict"])

    @property
    def worst(self) -> Gap:
        """The gap of the part that decides the verdict. Raises InputError where there are no parts."""
        from clearance.report.findings import worst_first

        if not self.gaps:
            raise InputError("no part stands around this wheel, so nothing was measured.")
        return worst_first(self.gaps)[0]


def check(
    corner: MockUp, *, tolerance_mm: float = TOLERANCE_MM, work: int | None = None, progress: Progress = silent
) -> Answer[Check]:
    """Does everything clear, everywhere in the travel and steering, by how much, and what is closest?

    `work` is how many boxes may be looked at for one part before it is left undecided.
    """
    from clearance.gap.cycle import over_cycle

    gaps = over_cycle(corner, tolerance_mm=tolerance_mm, work=work, progress=progress)
    return found_in(corner, gaps, tolerance_mm=tolerance_mm)


def found_in(corner: MockUp, gaps: Sequence[Gap], *, tolerance_mm: float = TOLERANCE_MM) -> Answer[Check]:
    """The answer of `check` where the gap of every part is measured already."""
    from clearance.answers.placing import doubts_of_places
    from clearance.report.findings import findings_of

    doubts = doubts_of_places(corner, gaps)
    findings = findings_of(corner, gaps, tolerance_mm=tolerance_mm, warnings=doubts, versions=versions())
    return checked(corner, gaps, findings)


def checked(
    corner: MockUp, gaps: Sequence[Gap], findings: Mapping[str, Any], *, folder: Path | None = None
) -> Answer[Check]:
    """The answer that these gaps and findings are; its files are, or will be, in `folder`."""
    from clearance.words.check import page

    return Answer(
        value=Check(gaps=tuple(gaps), findings=findings),
        corner=corner,
        told=partial(page, findings, folder),
        plain=lambda: findings,
        listed="parts",
        pictured=partial(_section_of, corner, gaps),
    )


def _section_of(corner: MockUp, gaps: Sequence[Gap]) -> tuple[str, ...]:
    """The place where the worst part comes closest."""
    from clearance.export.svg import picture
    from clearance.gap.rest import at_rest
    from clearance.report.findings import worst_first
    from clearance.report.sections import section_drawing
    from clearance.words.text import told

    if not gaps:
        return ()
    gap = at_rest(corner, worst_first(gaps)[0])
    said, place = led_by(told(gap), corner.units), led_by(gap.where, corner.units)
    drawing = section_drawing(corner, gap, corner.part(gap.part), said)
    return (picture(drawing, title=f"{gap.part}, {said}", description=f"{gap.region}; {place}"),)


def versions() -> dict[str, str]:
    """The versions whose arithmetic is in the numbers."""
    return {"clearance": version("wheelwell-clearance"), "numpy": version("numpy")}


def check_files(
    answer: Answer[Check], *, slack_mm: float = SLACK_MM, folder: Path | None = None, progress: Progress = silent
) -> tuple[dict[str, bytes], Answer[Check], tuple[tuple[str, Envelope], ...]]:
    """Every file that belongs to a check, by name: report, findings, scene, zones, envelopes, coloured scans.

    With them the answer as it stands in those files (they are named in it, and what is proven of the envelopes), and
    the envelopes. Raises OutputError where an envelope cannot be proven.
    """
    return files_of(answer, slack_mm=slack_mm, folder=folder, progress=progress)


def files_of(
    answer: Answer[Check],
    *,
    slack_mm: float,
    folder: Path | None,
    progress: Progress,
    before: str = "",
    begun: Wait | None = None,
) -> tuple[dict[str, bytes], Answer[Check], tuple[tuple[str, Envelope], ...]]:
    """The same, each name with `before` in front: the corners of a car stand in one folder, its script once.

    `begun` are its own envelopes where `begin_shapes` began them already.
    """
    from clearance.report.findings import as_json, zone_rows
    from clearance.report.page import write_report
    from clearance.report.shapes import shapes_of

    corner, gaps, findings = _of(answer), answer.value.gaps, answer.value.findings
    shapes, remarks, envelopes, zones = shapes_of(corner, gaps, slack_mm, progress, begun)
    for name in shapes:
        remarks = [remark.replace(name, f"{before}{name}") for remark in remarks]
    names = [f"{before}{name}" for name in sorted([*shapes, "findings.json", "report.html"])]
    whole = {
        **findings,
        "files": names,
        "warnings": [*findings["warnings"], *remarks],
        "zones": zone_rows(corner, zones),
    }
    progress(0, 1, "laying out the report")
    report = write_report(corner, gaps, whole, script_beside=bool(before))
    files = {**shapes, "findings.json": as_json(whole), "report.html": report}
    named = {f"{before}{name}": content for name, content in files.items()}
    return named, checked(corner, gaps, whole, folder=folder), tuple(envelopes)


def findings_text(answer: Answer[Check]) -> str:
    """findings.json, byte for byte, without the last line's end."""
    from clearance.report.findings import as_json

    return as_json(dict(answer.value.findings)).decode().rstrip("\n")


def report_of(answer: Answer[Check]) -> bytes:
    """The report of a check: one HTML page that works offline."""
    from clearance.report.page import write_report

    return write_report(_of(answer), answer.value.gaps, answer.value.findings)


def scene_of(answer: Answer[Check]) -> bytes:
    """The corner of a check as a GLB: parts coloured by their gap, the wheel cycling."""
    from clearance.export.glb import scene_glb

    gaps = answer.value.gaps
    worst = answer.value.worst.position if gaps else None
    return scene_glb(_of(answer), worst=worst, zones=zones_of(answer))


def zones_of(answer: Answer[Check]) -> tuple[Zone, ...]:
    """The patches of parts that are closer than they must be; vertices and faces as arrays."""
    from clearance.zones.zone import zones_of as found_in

    gaps = answer.value.gaps
    return found_in(_of(answer), [gap.part for gap in gaps if gap.verdict != "clears"], gaps=gaps)


def drawings_of(answer: Answer[Check], *, paper: str = "a4", full_size: str = "") -> dict[str, bytes]:
    """The corner to scale from behind, from the side and from above: SVG and PDF by file name.

    `full_size` names one of these views, to be printed at 1:1 too. Raises InputError for a paper or view that is none.
    """
    from clearance.report import drawings as drawn

    files = drawn.drawings(_of(answer), answer.value.gaps, paper=paper)
    if full_size:
        files[f"{full_size}-full-size.pdf"] = drawn.full_size(_of(answer), answer.value.gaps, full_size, paper=paper)
    return files


def _of(answer: Answer[Any]) -> MockUp:
    assert answer.corner is not None
    return answer.corner


def certificate_of(
    answer: Answer[Check], *, envelopes: Sequence[tuple[str, Envelope]] = (), progress: Progress | None = None
) -> bytes:
    """What proves a check, for `verify`. Raises OutputError where it would be too large."""
    from clearance.certificate import claims

    return claims.certificate_of(_of(answer), answer.value.gaps, envelopes=envelopes, progress=progress)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Verified:
    """What a certificate proves."""

    parts: tuple[Checked, ...]
    envelopes: tuple[CheckedEnvelope, ...]
    verdict: str


def verify(corner: MockUp, content: bytes | str | Path, *, progress: Progress | None = None) -> Answer[Verified]:
    """Does a certificate (its bytes, or its file) prove what it says of a corner? Raises InputError where not."""
    from clearance import opener
    from clearance.certificate.claims import checked as proven
    from clearance.certificate.claims import overall
    from clearance.certificate.file import MOST_BYTES
    from clearance.facts.verify import facts
    from clearance.words.verify import page

    held = content if isinstance(content, bytes) else opener.bytes_of(content, most=MOST_BYTES)
    parts, envelopes = proven(corner, held, progress=progress)
    return Answer(
        value=Verified(parts=tuple(parts), envelopes=tuple(envelopes), verdict=overall(parts)),
        corner=corner,
        told=partial(page, corner, parts, envelopes),
        plain=partial(facts, corner, parts, envelopes),
        listed="parts",
    )


# ---- the answers behind the question


def room(corner: MockUp, *, still_open: Sequence[Any] | None = None, progress: Progress = silent) -> Answer[RoomLeft]:
    """How much bump, droop, tilt and lock a corner could take whose travel was not measured, and what it meets first.

    With what `clearance.still_open` found, the answer says that too. Raises InputError for one whose motion is given.
    """
    from clearance.answers.room import room as asked
    from clearance.facts.open_letters import open_facts
    from clearance.facts.room import facts
    from clearance.words.room import page

    found = asked(corner, progress=progress)
    return Answer(
        value=found,
        corner=corner,
        told=partial(page, corner, found, None if still_open is None else open_facts(still_open)),
        plain=partial(facts, corner, found, still_open or ()),
        listed="ways",
    )


def window(corner: MockUp, *, widths_in: Sequence[float] | None = None, progress: Progress = silent) -> Answer[Window]:
    """Which backspace and offset clear, for the tire on each permitted rim width, and what binds each end."""
    from clearance.answers.window import window as asked
    from clearance.answers.window_picture import picture_of
    from clearance.export.svg import sheet
    from clearance.facts.window import facts
    from clearance.words.window import page

    found = asked(corner, corner.terms.limits, widths_in=widths_in, progress=progress)
    return Answer(
        value=found,
        corner=corner,
        told=partial(page, corner, found),
        plain=partial(facts, corner, found),
        listed="widths",
        pictured=lambda: (sheet(picture_of(found).led_by(corner.units), title=f"{corner.title}: window").decode(),),
    )


def largest(
    corner: MockUp,
    *,
    sizes: Sequence[Listed] | None = None,
    by: str = "diameter",
    target_mm: float | None = None,
    rim_diameters_in: Sequence[float] | None = None,
    enough: int = 10,
    progress: Progress = silent,
) -> Answer[Largest]:
    """The tire sizes that clear, each on its best rim width at its best backspace, best first.

    `sizes` are those of `listed_sizes`; the usual ones where not given. Raises InputError for an order that is none.
    """
    from clearance.answers.largest import largest as asked
    from clearance.facts.largest import facts
    from clearance.tire.catalog import standard_sizes
    from clearance.words.largest import page

    found = asked(
        corner,
        standard_sizes() if sizes is None else sizes,
        corner.terms,
        by=by,
        target_mm=target_mm,
        rim_diameters_in=rim_diameters_in,
        enough=enough,
        progress=progress,
    )
    return Answer(
        value=found,
        corner=corner,
        told=partial(page, corner, found),
        plain=partial(facts, corner, found),
        listed="fits",
    )


def listed_sizes(file: str | Path) -> tuple[Listed, ...]:
    """The tire sizes of a CSV with a column `size`. Raises InputError with the file and the row."""
    from clearance.opener import text_of
    from clearance.tire.catalog import sizes_from_csv

    return tuple(sizes_from_csv(text_of(file), name=str(file)))


def least_change(corner: MockUp, *, progress: Progress = silent) -> Answer[LeastChange]:
    """The smallest single change that clears, exact and as it is sold, and what it costs."""
    from clearance.answers.least_change import least_change as asked
    from clearance.facts.least_change import facts
    from clearance.tire.catalog import standard_sizes
    from clearance.words.least_change import page

    found = asked(corner, corner.terms, standard_sizes(), progress=progress)
    return Answer(
        value=found,
        corner=corner,
        told=partial(page, corner, found),
        plain=partial(facts, corner, found),
        listed="changes",
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Relieved:
    """What must move, and what comes off."""

    parts: tuple[Relief, ...]
    maps: tuple[ReliefMap, ...]


def relief(corner: MockUp, *, mapped: Sequence[str] = (), progress: Progress = silent) -> Answer[Relieved]:
    """How far each part that is under its required gap must move, and which way; scans and `mapped` parts corner by
    corner. Raises PartError for a part that is not there."""
    from clearance.answers.cut_line import mapped as mapped_one
    from clearance.answers.relief import relief as asked
    from clearance.facts.relief import facts
    from clearance.words.relief import page

    found = tuple(asked(corner, progress=progress))
    wanted = [one.before.part for one in found if one.kind == "mesh"] + list(mapped)
    maps = tuple(mapped_one(corner, name) for name in dict.fromkeys(wanted))
    return Answer(
        value=Relieved(parts=found, maps=maps),
        corner=corner,
        told=partial(page, corner, found, maps, None, ()),
        plain=partial(facts, corner, found, maps, ()),
        listed="parts",
    )


def relief_files(
    answer: Answer[Relieved],
    *,
    slack_mm: float = RELIEF_SLACK_MM,
    folder: Path | None = None,
    progress: Progress = silent,
) -> tuple[dict[str, bytes], Answer[Relieved]]:
    """Maps of what to take off (PLY, GLB, STL, CSV), cut lines of scans (GLB, DXF, CSV, STL), and the surface that a
    new tub must stay outside of (STL).

    With them the answer that names these files, which are, or will be, in `folder`. Raises OutputError where the tub
    cannot be proven.
    """
    from clearance.export import relief as export
    from clearance.facts.relief import facts
    from clearance.words.relief import page

    corner, found = _of(answer), answer.value
    grown_mm = max((one.before.required_mm for one in found.parts), default=None)
    files = export.relief_files(corner, found.maps, grown_mm=grown_mm, slack_mm=slack_mm, progress=progress)
    rows = (corner, found.parts, found.maps)
    return files, replace(
        answer, told=partial(page, *rows, folder, sorted(files)), plain=partial(facts, *rows, sorted(files))
    )


def budget(corner: MockUp, *, rechecks: int = 6, progress: Progress = silent) -> Answer[Budget]:
    """What the uncertainty of every measurement does to every gap, and which number to measure again."""
    from clearance.answers.budget import budget as asked
    from clearance.facts.budget import facts
    from clearance.words.budget import page

    found = asked(corner, corner.terms.uncertainty, rechecks=rechecks, progress=progress)
    return Answer(
        value=found,
        corner=corner,
        told=partial(page, corner, found),
        plain=partial(facts, corner, found),
        listed="parts",
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Other:
    """Other clearances of the same tire."""

    load_states: tuple[LoadState, ...]
    chains: tuple[Gap, ...]
    rooms: tuple[Room, ...]
    cover: Cover | None

    @property
    def enough(self) -> bool:
        """Whether all of them have room enough."""
        from clearance.answers.checked import all_clear

        clear = all(all_clear(state.gaps) for state in self.load_states) and all_clear(self.chains)
        return clear and all(room.enough for room in self.rooms) and (self.cover is None or self.cover.kept)


def other(corner: MockUp) -> Answer[Other]:
    """Load states, chains, the spare in its well, duals, the body's cover: whichever the corner's terms have.

    Raises InputError where they have none.
    """
    from clearance.answers.other import NOTHING, between_duals, cover, in_spare_well, load_states, with_chains
    from clearance.answers.said import put_on
    from clearance.facts.other import facts
    from clearance.words.other import page

    terms = corner.terms
    # what lies in the well is the spare, where the file says it
    carried = None if terms.spare is None else put_on(corner, terms.spare)
    rooms = () if terms.spare_well is None else in_spare_well(carried or corner, terms.spare_well)
    found = Other(
        load_states=load_states(corner, terms.load_states_mm),
        chains=() if terms.chains is None else with_chains(corner, terms.chains),
        rooms=(*rooms, *(() if terms.duals is None else between_duals(corner, terms.duals))),
        cover=None if terms.coverage is None else cover(corner, terms.coverage),
    )
    if not (found.load_states or found.chains or found.rooms or found.cover):
        raise InputError(NOTHING)
    rows = (corner, found.load_states, found.chains, found.rooms, found.cover)
    return Answer(value=found, corner=corner, told=partial(page, *rows), plain=partial(facts, *rows), listed="rooms")


# ---- two corners, and wheels in their boxes


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Compared:
    """Every part before and after."""

    before: Measure
    after: Measure
    parts: tuple[PartChange, ...]
    left_right: LeftRight | None
    swap: Swap | None
    """After's tire and wheel against before's; None where either is of findings alone."""
    against_now: tuple[Swap, ...]
    """Each side's against what is on the car today, where a [now] says; before's first."""


def compare(before: MockUp | Measure, after: MockUp | Measure) -> Answer[Compared]:
    """Every part before and after; of the left and right of one axle with tape numbers, whether the axle stands aside.

    Findings of earlier come from `measured_at`.
    """
    from clearance.answers.compare import compare as asked
    from clearance.answers.compare import measured, of_one_axle
    from clearance.answers.compare_picture import picture_of
    from clearance.answers.swap import swaps_of
    from clearance.export.svg import sheet
    from clearance.facts.compare import facts
    from clearance.words.compare import page

    first, second = (measured(one) if isinstance(one, MockUp) else one for one in (before, after))
    rows, sides = asked(first.sides, second.sides), of_one_axle(first, second)
    swap, now = swaps_of(first.mockup, second.mockup)
    return Answer(
        value=Compared(before=first, after=second, parts=rows, left_right=sides, swap=swap, against_now=now),
        corner=second.mockup,
        told=partial(page, first, second, rows, sides, swap, now),
        plain=partial(facts, first, second, rows, sides, swap, now),
        listed="parts",
        pictured=lambda: (sheet(picture_of(rows, first.title, second.title), title="before and after").decode(),),
    )


def measured_at(file: str | Path) -> Measure:
    """One side of a comparison: the corner of a corner file, measured, or what stands in a findings.json of earlier.

    Raises CornerFileError or FileError for what is neither.
    """
    from clearance.answers.compare import Measure, measured
    from clearance.description.load import load
    from clearance.report.findings_file import read_findings

    place = Path(file)
    if place.suffix.lower() != ".json":
        return measured(load(place), title=place.name)
    found = read_findings(place)
    return Measure(title=found.title, corner=found.corner, sides=dict(found.sides), warnings=found.warnings)


def order(corner: MockUp) -> Answer[Any]:
    """The order card: what to tell the wheel maker, with tolerances and how each number is measured."""
    from clearance.answers.boxes import order_card
    from clearance.facts.order import facts
    from clearance.words.order import page

    card = order_card(corner, corner.terms.order)
    return Answer(
        value=card, corner=corner, told=partial(page, corner, card), plain=partial(facts, corner, card), listed="lines"
    )


def inspect(corner: MockUp, wheels: Sequence[Measured]) -> Answer[Received]:
    """Every wheel against the order and the corner's room: keep, read again, return or not told.

    Wheels are those of `boxes`. The corner is measured only where readings and order alone do not decide.
    """
    from clearance.answers.boxes import order_of
    from clearance.answers.received import received
    from clearance.facts.inspect import facts
    from clearance.wheel.inspection import inspect as asked
    from clearance.words.inspect import page

    found = received(corner, asked(order_of(corner, corner.terms.order), wheels))
    return Answer(
        value=found,
        corner=corner,
        told=partial(page, corner, found),
        plain=partial(facts, corner, found),
        listed="wheels",
    )


def box_sheets(
    corner: MockUp, *, sheet: str = "", blank: str = "", paper: str = "letter"
) -> tuple[dict[str, bytes], Answer[Received]]:
    """What to fill for `inspect`, by the names that are given: the printed sheet (PDF) and the CSV.

    In the unit that the corner's pages have first. Raises OutputError for a paper that is not known.
    """
    from clearance.answers.boxes import order_of
    from clearance.answers.received import nothing_received
    from clearance.facts.inspect import facts
    from clearance.report.wheel_sheet import wheel_csv, wheel_sheet
    from clearance.words.inspect import blank_page

    order = order_of(corner, corner.terms.order)
    files: dict[str, bytes] = {}
    if sheet:
        files[sheet] = wheel_sheet(order, title=corner.title or corner.corner, unit=corner.units, paper=paper)
    if blank:
        files[blank] = wheel_csv(order, unit=corner.units)
    found = nothing_received(order)
    return files, Answer(
        value=found,
        corner=corner,
        told=partial(blank_page, order.quantity, blank),
        plain=partial(facts, corner, found, tuple(files)),
    )


def boxes_at(file: str | Path) -> list[Any]:
    """The rows of a measured file, TOML or CSV, for `boxes`. Raises WheelError with the file and its line."""
    from clearance.description.boxes import rows_of

    return rows_of(Path(file))


def box_of(text: str) -> dict[str, str]:
    """One row for `boxes`, written as 'name=front left, width=178 mm, ...'. Raises WheelError."""
    from clearance.description.boxes import row_of

    return row_of(text)


def boxes(rows: Sequence[Mapping[str, Any]], *, name: str = "wheels") -> tuple[Measured, ...]:
    """What was read on each wheel in its box, rows as a measured file has them. Raises WheelError with `name`."""
    from clearance.answers.boxes import KEYS, measured_of
    from clearance.errors import WheelError

    if not rows:
        raise WheelError(
            "no wheel was measured. Give --measured FILE with one [[wheel]] for each box, or --wheel 'name=..., ...'."
            f" Keys: {', '.join(KEYS)}."
        )
    return measured_of(rows, file=name)


# ---- motion, tire, shapes


def motion(corner: MockUp, *, step_mm: float = HEIGHT_STEP_MM) -> Answer[Mapping[str, tuple[Step, ...]]]:
    """How the wheel moves: camber, toe, across and along against bump, and at both locks.

    Raises SuspensionError for a step that is of no use.
    """
    from clearance.answers.motion import tables_of
    from clearance.errors import SuspensionError
    from clearance.facts.motion import facts
    from clearance.words.motion import page

    if not 1.0 <= step_mm <= 200.0:
        raise SuspensionError(
            f"a step of {step_mm:g} mm from height to height is of no use. Write between 1 mm and 200 mm."
        )
    tables = tables_of(corner, step_mm)
    return Answer(value=tables, corner=corner, told=partial(page, corner, tables), plain=partial(facts, corner, tables))


def motion_csv(answer: Answer[Mapping[str, tuple[Step, ...]]]) -> bytes:
    """The path of the wheel as a CSV file."""
    from clearance.export.motion import as_csv

    return as_csv(dict(answer.value)).encode()


def motion_picture(answer: Answer[Mapping[str, tuple[Step, ...]]], file: str | Path) -> bytes:
    """The path of the wheel drawn, as the name of `file` says: SVG or PNG. Raises OutputError without matplotlib."""
    from clearance.export.motion import drawn

    return drawn(_of(answer).title, dict(answer.value), Path(file))


def envelope_of(
    corner: MockUp,
    *,
    grown_mm: float = 0.0,
    slack_mm: float = SLACK_MM,
    progress: Callable[[int, int], None] | None = None,
) -> Envelope:
    """The solid that holds the tire and wheel at every position, grown by a gap; vertices and faces as arrays.

    Raises OutputError where containment cannot be proven.
    """
    from clearance.envelope import build

    return build.envelope_of(corner, grown_mm=grown_mm, slack_mm=slack_mm, progress=progress)


def largest_required_mm(corner: MockUp) -> float:
    """The largest gap that anything on the body must keep: what an envelope for a tub is grown by."""
    return max((part.required_mm for part in corner.parts if part.rides_on == "body"), default=0.0)


def to_trimesh(shape: Any) -> Any:
    """An envelope, a zone or a part as a trimesh, mm, in corner axes. Raises InputError for what has no surface."""
    import numpy as np

    from clearance.export.mesh import trimesh_of

    triangles = getattr(shape, "triangles_mm", None)
    if triangles is not None:
        return trimesh_of(np.array(triangles).reshape(-1, 3), np.arange(3 * len(triangles)).reshape(-1, 3))
    vertices, faces = getattr(shape, "vertices_mm", None), getattr(shape, "faces", None)
    if vertices is None or faces is None:
        raise InputError(f"{type(shape).__name__} has no surface. Give an envelope, a zone or a part.")
    return trimesh_of(np.array(vertices), np.array(faces))
