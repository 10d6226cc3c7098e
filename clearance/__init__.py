"""Does this wheel and tire clear everything, in every position of the axle and the steering?

    import clearance

    corner = clearance.load("corner.toml")
    print(clearance.check(corner))

Lengths are millimetres, angles degrees, rims in inches, as their names say. Values are immutable; `changed` gives a
variant. docs/python.md has every name.
"""

from __future__ import annotations

import importlib
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from clearance.answers.compare import Measure as Measure
    from clearance.answers.compare import measured as measured
    from clearance.answers.rotated import Rotated as Rotated
    from clearance.description.car_schema import car_file_schema as car_file_schema
    from clearance.description.json_schema import corner_file_schema as corner_file_schema
    from clearance.description.writing import Document as Document
    from clearance.description.writing import corner_text as corner_text
    from clearance.door.answer import Answer as Answer
    from clearance.door.bench import Bench as Bench
    from clearance.door.bench import Look as Look
    from clearance.door.bench import Mark as Mark
    from clearance.door.bench import look_at as look_at
    from clearance.door.bench import on_bench as on_bench
    from clearance.door.bench import sure_bar as sure_bar
    from clearance.door.bench import window_marks as window_marks
    from clearance.door.car_boxes import car_box_sheets as car_box_sheets
    from clearance.door.car_boxes import inspect_car as inspect_car
    from clearance.door.car_cards import order_files as order_files
    from clearance.door.car_changes import least_change_car as least_change_car
    from clearance.door.car_changes import relief_car as relief_car
    from clearance.door.car_changes import relief_car_files as relief_car_files
    from clearance.door.cars import CarCheck as CarCheck
    from clearance.door.cars import candidates as candidates
    from clearance.door.cars import car_files as car_files
    from clearance.door.cars import check_car as check_car
    from clearance.door.cars import largest_car as largest_car
    from clearance.door.cars import order_car as order_car
    from clearance.door.cars import window_car as window_car
    from clearance.door.corners import changed as changed
    from clearance.door.corners import corner_from as corner_from
    from clearance.door.corners import surface_from as surface_from
    from clearance.door.corners import suspension_from as suspension_from
    from clearance.door.corners import tire_from as tire_from
    from clearance.door.corners import wheel_from as wheel_from
    from clearance.door.dials import Dial as Dial
    from clearance.door.grid import GRID_UNITS as GRID_UNITS
    from clearance.door.grid import grid as grid
    from clearance.door.grid import grid_files as grid_files
    from clearance.door.grid import sampled as sampled
    from clearance.door.grid import sampled_files as sampled_files
    from clearance.door.measuring import Measuring as Measuring
    from clearance.door.measuring import carrier_files as carrier_files
    from clearance.door.measuring import carriers as carriers
    from clearance.door.measuring import corner_files as corner_files
    from clearance.door.measuring import depths as depths
    from clearance.door.measuring import measuring as measuring
    from clearance.door.measuring import sheet_files as sheet_files
    from clearance.door.measuring import still_open as still_open
    from clearance.door.plots import plot_gaps as plot_gaps
    from clearance.door.questions import Check as Check
    from clearance.door.questions import Compared as Compared
    from clearance.door.questions import Other as Other
    from clearance.door.questions import Relieved as Relieved
    from clearance.door.questions import Verified as Verified
    from clearance.door.questions import box_of as box_of
    from clearance.door.questions import box_sheets as box_sheets
    from clearance.door.questions import boxes as boxes
    from clearance.door.questions import boxes_at as boxes_at
    from clearance.door.questions import budget as budget
    from clearance.door.questions import certificate_of as certificate_of
    from clearance.door.questions import check as check
    from clearance.door.questions import check_files as check_files
    from clearance.door.questions import compare as compare
    from clearance.door.questions import drawings_of as drawings_of
    from clearance.door.questions import envelope_of as envelope_of
    from clearance.door.questions import findings_text as findings_text
    from clearance.door.questions import inspect as inspect
    from clearance.door.questions import largest as largest
    from clearance.door.questions import largest_required_mm as largest_required_mm
    from clearance.door.questions import least_change as least_change
    from clearance.door.questions import listed_sizes as listed_sizes
    from clearance.door.questions import measured_at as measured_at
    from clearance.door.questions import motion as motion
    from clearance.door.questions import motion_csv as motion_csv
    from clearance.door.questions import motion_picture as motion_picture
    from clearance.door.questions import order as order
    from clearance.door.questions import other as other
    from clearance.door.questions import relief as relief
    from clearance.door.questions import relief_files as relief_files
    from clearance.door.questions import report_of as report_of
    from clearance.door.questions import room as room
    from clearance.door.questions import scene_of as scene_of
    from clearance.door.questions import to_trimesh as to_trimesh
    from clearance.door.questions import verify as verify
    from clearance.door.questions import window as window
    from clearance.door.questions import zones_of as zones_of
    from clearance.door.read import load as load
    from clearance.door.read import load_car as load_car
    from clearance.door.read import read as read
    from clearance.door.read import read_car as read_car
    from clearance.door.read import read_car_from as read_car_from
    from clearance.door.read import read_from as read_from
    from clearance.door.scan_bench import Picked as Picked
    from clearance.door.scan_bench import ScanOnBench as ScanOnBench
    from clearance.door.scan_bench import Standing as Standing
    from clearance.door.scan_bench import gap_band as gap_band
    from clearance.door.scan_bench import scan_on_bench as scan_on_bench
    from clearance.door.scans import Scanned as Scanned
    from clearance.door.scans import scan as scan
    from clearance.door.scans import scan_picture as scan_picture
    from clearance.door.scans import with_scan as with_scan
    from clearance.door.shop import Swept as Swept
    from clearance.door.shop import draw as draw
    from clearance.door.shop import flat_gauge as flat_gauge
    from clearance.door.shop import making_of as making_of
    from clearance.door.shop import printed_gauge as printed_gauge
    from clearance.door.shop import templates_of as templates_of
    from clearance.door.shop import tub_making as tub_making
    from clearance.door.stance import NowNext as NowNext
    from clearance.door.stance import draw_car as draw_car
    from clearance.door.stance import now_next as now_next
    from clearance.door.stance import rotate as rotate
    from clearance.door.study import Study as Study
    from clearance.door.study import study as study
    from clearance.door.tires import marking as marking
    from clearance.door.tires import swapped as swapped
    from clearance.door.tires import two_markings as two_markings
    from clearance.envelope.build import Envelope as Envelope
    from clearance.errors import ClearanceError as ClearanceError
    from clearance.errors import CornerFileError as CornerFileError
    from clearance.errors import InputError as InputError
    from clearance.errors import MeshError as MeshError
    from clearance.errors import OutputError as OutputError
    from clearance.errors import ShapeError as ShapeError
    from clearance.errors import UnitError as UnitError
    from clearance.errors import WheelError as WheelError
    from clearance.facts.published import answer_schemas as answer_schemas
    from clearance.gap.found import Gap as Gap
    from clearance.mockup.car import Car as Car
    from clearance.mockup.mockup import MockUp as MockUp
    from clearance.suspension.position import Cycle as Cycle
    from clearance.suspension.position import Position as Position
    from clearance.suspension.position import Shift as Shift
    from clearance.terms import Limits as Limits
    from clearance.terms import Load as Load
    from clearance.terms import OrderTerms as OrderTerms
    from clearance.terms import Sold as Sold
    from clearance.terms import Steps as Steps
    from clearance.terms import Terms as Terms
    from clearance.terms import Uncertainty as Uncertainty
    from clearance.tire.tire import Tire as Tire
    from clearance.units import MM_PER_INCH as MM_PER_INCH
    from clearance.units import angle_deg as angle_deg
    from clearance.units import length_mm as length_mm
    from clearance.units import unit_first as unit_first
    from clearance.well.cylinder import cylinder as cylinder
    from clearance.well.lip import lip as lip
    from clearance.well.part import Part as Part
    from clearance.well.parts import Tag as Tag
    from clearance.well.parts import bar as bar
    from clearance.well.parts import box as box
    from clearance.well.parts import plate as plate
    from clearance.well.parts import wall as wall
    from clearance.well.tub import Crown as Crown
    from clearance.well.tub import Taper as Taper
    from clearance.well.tub import tub as tub
    from clearance.wheel.wheel import Wheel as Wheel

_HOMES = {
    "Answer": "clearance.door.answer",
    "Bench": "clearance.door.bench",
    "Car": "clearance.mockup.car",
    "CarCheck": "clearance.door.cars",
    "Check": "clearance.door.questions",
    "ClearanceError": "clearance.errors",
    "Compared": "clearance.door.questions",
    "CornerFileError": "clearance.errors",
    "Crown": "clearance.well.tub",
    "Cycle": "clearance.suspension.position",
    "Dial": "clearance.door.dials",
    "Document": "clearance.description.writing",
    "Envelope": "clearance.envelope.build",
    "Gap": "clearance.gap.found",
    "InputError": "clearance.errors",
    "Limits": "clearance.terms",
    "Load": "clearance.terms",
    "Look": "clearance.door.bench",
    "MM_PER_INCH": "clearance.units",
    "Mark": "clearance.door.bench",
    "Measure": "clearance.answers.compare",
    "Measuring": "clearance.door.measuring",
    "MeshError": "clearance.errors",
    "MockUp": "clearance.mockup.mockup",
    "NowNext": "clearance.door.stance",
    "OrderTerms": "clearance.terms",
    "Other": "clearance.door.questions",
    "OutputError": "clearance.errors",
    "Part": "clearance.well.part",
    "Picked": "clearance.door.scan_bench",
    "Position": "clearance.suspension.position",
    "Relieved": "clearance.door.questions",
    "Rotated": "clearance.answers.rotated",
    "ScanOnBench": "clearance.door.scan_bench",
    "Scanned": "clearance.door.scans",
    "ShapeError": "clearance.errors",
    "Shift": "clearance.suspension.position",
    "Sold": "clearance.terms",
    "Standing": "clearance.door.scan_bench",
    "Steps": "clearance.terms",
    "Swept": "clearance.door.shop",
    "Tag": "clearance.well.parts",
    "Taper": "clearance.well.tub",
    "Terms": "clearance.terms",
    "Tire": "clearance.tire.tire",
    "Uncertainty": "clearance.terms",
    "UnitError": "clearance.errors",
    "Verified": "clearance.door.questions",
    "Wheel": "clearance.wheel.wheel",
    "WheelError": "clearance.errors",
    "answer_schemas": "clearance.facts.published",
    "bar": "clearance.well.parts",
    "box": "clearance.well.parts",
    "box_of": "clearance.door.questions",
    "box_sheets": "clearance.door.questions",
    "boxes": "clearance.door.questions",
    "boxes_at": "clearance.door.questions",
    "budget": "clearance.door.questions",
    "candidates": "clearance.door.cars",
    "GRID_UNITS": "clearance.door.grid",
    "grid": "clearance.door.grid",
    "grid_files": "clearance.door.grid",
    "sampled": "clearance.door.grid",
    "sampled_files": "clearance.door.grid",
    "study": "clearance.door.study",
    "Study": "clearance.door.study",
    "car_box_sheets": "clearance.door.car_boxes",
    "car_file_schema": "clearance.description.car_schema",
    "car_files": "clearance.door.cars",
    "carrier_files": "clearance.door.measuring",
    "carriers": "clearance.door.measuring",
    "certificate_of": "clearance.door.questions",
    "changed": "clearance.door.corners",
    "check": "clearance.door.questions",
    "check_car": "clearance.door.cars",
    "check_files": "clearance.door.questions",
    "compare": "clearance.door.questions",
    "corner_file_schema": "clearance.description.json_schema",
    "corner_files": "clearance.door.measuring",
    "corner_from": "clearance.door.corners",
    "corner_text": "clearance.description.writing",
    "cylinder": "clearance.well.cylinder",
    "depths": "clearance.door.measuring",
    "draw": "clearance.door.shop",
    "draw_car": "clearance.door.stance",
    "drawings_of": "clearance.door.questions",
    "envelope_of": "clearance.door.questions",
    "findings_text": "clearance.door.questions",
    "flat_gauge": "clearance.door.shop",
    "gap_band": "clearance.door.scan_bench",
    "inspect": "clearance.door.questions",
    "inspect_car": "clearance.door.car_boxes",
    "largest": "clearance.door.questions",
    "largest_car": "clearance.door.cars",
    "largest_required_mm": "clearance.door.questions",
    "least_change": "clearance.door.questions",
    "least_change_car": "clearance.door.car_changes",
    "angle_deg": "clearance.units",
    "length_mm": "clearance.units",
    "lip": "clearance.well.lip",
    "listed_sizes": "clearance.door.questions",
    "load": "clearance.door.read",
    "load_car": "clearance.door.read",
    "look_at": "clearance.door.bench",
    "making_of": "clearance.door.shop",
    "tub_making": "clearance.door.shop",
    "marking": "clearance.door.tires",
    "measured": "clearance.answers.compare",
    "measured_at": "clearance.door.questions",
    "measuring": "clearance.door.measuring",
    "motion": "clearance.door.questions",
    "motion_csv": "clearance.door.questions",
    "motion_picture": "clearance.door.questions",
    "now_next": "clearance.door.stance",
    "on_bench": "clearance.door.bench",
    "order": "clearance.door.questions",
    "order_car": "clearance.door.cars",
    "order_files": "clearance.door.car_cards",
    "other": "clearance.door.questions",
    "plate": "clearance.well.parts",
    "plot_gaps": "clearance.door.plots",
    "printed_gauge": "clearance.door.shop",
    "read": "clearance.door.read",
    "read_car": "clearance.door.read",
    "read_car_from": "clearance.door.read",
    "read_from": "clearance.door.read",
    "relief": "clearance.door.questions",
    "relief_car": "clearance.door.car_changes",
    "relief_car_files": "clearance.door.car_changes",
    "relief_files": "clearance.door.questions",
    "report_of": "clearance.door.questions",
    "room": "clearance.door.questions",
    "rotate": "clearance.door.stance",
    "scan": "clearance.door.scans",
    "scan_on_bench": "clearance.door.scan_bench",
    "scan_picture": "clearance.door.scans",
    "scene_of": "clearance.door.questions",
    "sheet_files": "clearance.door.measuring",
    "still_open": "clearance.door.measuring",
    "sure_bar": "clearance.door.bench",
    "surface_from": "clearance.door.corners",
    "suspension_from": "clearance.door.corners",
    "swapped": "clearance.door.tires",
    "templates_of": "clearance.door.shop",
    "tire_from": "clearance.door.corners",
    "to_trimesh": "clearance.door.questions",
    "tub": "clearance.well.tub",
    "two_markings": "clearance.door.tires",
    "unit_first": "clearance.units",
    "verify": "clearance.door.questions",
    "wall": "clearance.well.parts",
    "wheel_from": "clearance.door.corners",
    "window": "clearance.door.questions",
    "window_car": "clearance.door.cars",
    "window_marks": "clearance.door.bench",
    "with_scan": "clearance.door.scans",
    "zones_of": "clearance.door.questions",
}
"""Every public name and the module that it comes from, loaded when the name is asked for."""

__all__ = sorted(_HOMES)


def __getattr__(name: str) -> Any:
    if name not in _HOMES:
        raise AttributeError(f"clearance offers no {name}")
    return getattr(importlib.import_module(_HOMES[name]), name)


def __dir__() -> list[str]:
    return sorted([*globals(), *_HOMES])
