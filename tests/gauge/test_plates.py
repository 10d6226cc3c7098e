"""The printed pieces on the printer's bed, and hub, studs and side from where the corner file declares them."""

import dataclasses
import itertools
import re
import shutil
import subprocess
from collections import Counter
from pathlib import Path

import numpy as np
import pytest

from clearance.description.load import load
from clearance.errors import ShapeError
from clearance.export.gauge_files import plate_files
from clearance.gauge.hub import hub_fit_of, short_title
from clearance.gauge.making import Making, bed_of
from clearance.gauge.mock_gauge import gauge_for
from clearance.gauge.plates import PLATE_GAP_MM, plates_of

CORNERS = Path(__file__).parents[2] / "fixtures" / "corners"
ORCHARD = CORNERS / "orchard-pickup-rear.toml"
SLICER = shutil.which("prusa-slicer")
BEDS = ("220x220x250", "180x180x180", "347x331x340")


@pytest.fixture(scope="module", params=BEDS)
def gauge(request):
    return gauge_for(load(ORCHARD), Making(bed=bed_of(request.param)))


def test_every_piece_lies_on_a_bed_and_on_no_other_piece(gauge):
    bed = gauge.fit.making.bed
    plates = plates_of(gauge.pieces, bed)
    assert Counter(laid.piece.number for plate in plates for laid in plate) == {p.number: p.count for p in gauge.pieces}
    for plate in plates:
        for laid in plate:
            x0, y0, z0, x1, y1, z1 = laid.body.bounding_box()
            assert min(x0, y0) >= 2.0 - 1e-6
            assert x1 <= bed.x_mm - 2.0 + 1e-6
            assert y1 <= bed.y_mm - 2.0 + 1e-6
            assert z0 == pytest.approx(0.0, abs=1e-9)
            assert z1 <= bed.z_mm
            assert laid.body.volume() == pytest.approx(laid.piece.body.volume(), rel=1e-9)
        for one, other in itertools.combinations(plate, 2):
            assert one.body.min_gap(other.body, 10.0) >= PLATE_GAP_MM - 0.3  # the shadow is simplified to 0.2 mm


def test_lib3mf_reads_every_plate_as_closed_solids_on_the_bed(gauge, tmp_path):
    lib3mf = pytest.importorskip("lib3mf", reason="lib3mf is not installed (test extra)")
    bed = gauge.fit.making.bed
    for name, data in plate_files(gauge).items():
        (tmp_path / name).write_bytes(data)
        model = lib3mf.Wrapper().CreateModel()
        reader = model.QueryReader("3mf")
        reader.SetStrictModeActive(True)
        reader.ReadFromFile(str(tmp_path / name))
        assert reader.GetWarningCount() == 0
        objects = model.GetMeshObjects()
        while objects.MoveNext():
            mesh = objects.GetCurrentMeshObject()
            assert mesh.IsManifoldAndOriented()
            at = np.array([list(v.Coordinates) for v in mesh.GetVertices()])
            assert at.min() >= -1e-4
            assert (at.max(axis=0) <= [bed.x_mm, bed.y_mm, bed.z_mm]).all()


@pytest.mark.skipif(SLICER is None, reason="prusa-slicer is not installed (Debian package prusa-slicer)")
@pytest.mark.parametrize(
    "plates", [slice(-1, None), pytest.param(slice(None), marks=pytest.mark.slow)], ids=["last", "all"]
)
def test_a_slicer_prints_every_plate_where_it_lies_without_a_repair(plates, tmp_path):
    """prusa-slicer, told not to arrange: no repair, and every move that lays filament within the bed."""
    gauge = gauge_for(load(ORCHARD), Making())
    for name, data in list(plate_files(gauge).items())[plates]:
        (tmp_path / name).write_bytes(data)
        said = subprocess.run([SLICER, "--info", name], cwd=tmp_path, capture_output=True, text=True, timeout=120)
        assert "manifold = yes" in said.stdout
        assert "manifold = no" not in said.stdout
        assert not re.search(r"(edges_fixed|degenerate_facets|facets_removed|facets_reversed)\s*=\s*[1-9]", said.stdout)
        options = ["--dont-arrange", "--bed-shape=0x0,220x0,220x220,0x220", "--max-print-height=250", "--skirts=0"]
        quick = ["--layer-height=0.3", "--fill-density=5%"]
        run = [SLICER, "--export-gcode", *options, *quick, "--output", "plate.gcode", name]
        cut = subprocess.run(run, cwd=tmp_path, capture_output=True, text=True, timeout=300)
        assert cut.returncode == 0, cut.stderr
        assert not re.search(r"error|repair|could not|outside of the print", cut.stdout + cut.stderr, re.IGNORECASE)
        laid = re.findall(r"^G1 X([-\d.]+) Y([-\d.]+) E", (tmp_path / "plate.gcode").read_text(), re.MULTILINE)
        at = np.array(laid, dtype=float)
        assert len(at) > 100
        assert at.min() > 0
        assert at.max() < 220


def test_studs_and_bore_are_those_that_the_corner_file_declares():
    """[order] thread M14x1.5 gives holes of 14 + 1 + 0.3 mm; the bore is the wheel's and 0.3 mm."""
    mockup = load(ORCHARD)
    order = dataclasses.replace(mockup.terms.order, thread="M14x1.5")
    wheel = dataclasses.replace(mockup.wheel, center_bore_mm=78.1)
    terms = dataclasses.replace(mockup.terms, order=order)
    given = dataclasses.replace(mockup, wheel=wheel, terms=terms)
    fit, warnings = hub_fit_of(given, Making())
    assert fit.making.stud_hole_mm == pytest.approx(15.3)
    assert fit.bore_mm == pytest.approx(78.4)
    assert not any("studs is given" in w for w in warnings)
    with pytest.raises(ShapeError, match=r"M14x1\.5"):
        hub_fit_of(given, Making(stud_mm=12.7))
    assert any("no size of the hub's studs is given" in w for w in hub_fit_of(mockup, Making())[1])


@pytest.mark.parametrize(
    ("title", "corner", "said"),
    [
        ("Orchard half-ton, rear left", "rear-left", ("Orchard half-ton", "rear left")),
        ("A very long name of a car that goes on", "front-right", ("A very long name of a", "front right")),
        ("Rear left of something", "front-right", ("Rear left of something", "front right")),
        ("front right", "front-right", ("front right", "front right")),
    ],
)
def test_the_side_of_the_car_is_never_cut_from_what_is_engraved(title, corner, said):
    assert short_title(title, corner) == said
