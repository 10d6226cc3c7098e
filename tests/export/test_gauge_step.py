"""The printed gauge as STEP: the CAD kernel's own volumes, surfaces and places are held to the gauge's."""

import dataclasses
import importlib.util
import math
import re

import pytest
from clearance_cli.main import run
from export.test_step import PICKUP, read, volumes

from clearance.description.load import load
from clearance.export.gauge_step import gauge_step
from clearance.gauge.body import slabs_of
from clearance.gauge.making import Making
from clearance.gauge.mock_gauge import gauge_for

pytestmark = pytest.mark.skipif(
    importlib.util.find_spec("OCP") is None, reason='the CAD kernel is not installed (the extra "cad")'
)
SOME = ("hub plate", "ring", "splice plate", "rim ring quarter")


@pytest.fixture(scope="module")
def gauge():
    return gauge_for(load(PICKUP), Making())


def faces(shape):
    from OCP.BRepAdaptor import BRepAdaptor_Surface
    from OCP.TopAbs import TopAbs_FACE
    from OCP.TopExp import TopExp_Explorer
    from OCP.TopoDS import TopoDS

    found, walk = [], TopExp_Explorer(shape, TopAbs_FACE)
    while walk.More():
        found.append(BRepAdaptor_Surface(TopoDS.Face(walk.Current())))
        walk.Next()
    return found


@pytest.mark.parametrize("some", [SOME, pytest.param(None, marks=pytest.mark.slow)], ids=["some", "all"])
def test_every_piece_is_a_solid_of_its_volume_in_planes_and_cylinders_alone(gauge, some, tmp_path):
    """A solid's volume is the printed body's to 0.5 %: writing, filled in, and the chords of the print make that."""
    from OCP.BRepCheck import BRepCheck_Analyzer
    from OCP.GeomAbs import GeomAbs_Cylinder, GeomAbs_Plane

    pieces = tuple(p for p in gauge.pieces if some is None or p.name in some)
    given = dataclasses.replace(gauge, pieces=pieces)
    content = gauge_step(given)
    place = tmp_path / "gauge.step"
    place.write_bytes(content)
    shape = read(place)
    assert BRepCheck_Analyzer(shape).IsValid()
    wanted = [p.body.volume() for p in pieces for _ in range(p.count)]
    assert volumes(shape) == pytest.approx(wanted, rel=5e-3)
    kinds = [face.GetType() for face in faces(shape)]
    assert set(kinds) == {GeomAbs_Plane, GeomAbs_Cylinder}
    radii = {round(f.Cylinder().Radius(), 2) for f in faces(shape) if f.GetType() == GeomAbs_Cylinder}
    fit = gauge.fit
    assert {round(r, 2) for r in (fit.bore_mm / 2, fit.journal_mm, fit.flange_mm)} <= radii
    names = [name.decode() for name in re.findall(rb"PRODUCT\('([^']*)'", content)]
    assert len(names) == len(wanted)
    assert gauge_step(given) == content


def test_the_hub_plate_stands_on_the_hub_face(gauge, tmp_path):
    from OCP.Bnd import Bnd_Box
    from OCP.BRepBndLib import BRepBndLib

    place = tmp_path / "plate.step"
    place.write_bytes(gauge_step(dataclasses.replace(gauge, pieces=gauge.pieces[:1])))
    box = Bnd_Box()
    BRepBndLib.AddOptimal_s(read(place), box, False, False)
    corner, other = box.CornerMin(), box.CornerMax()
    _, _, low, _, _, high = gauge.pieces[0].body.bounding_box()
    assert corner.Y() == pytest.approx(0.0, abs=1e-4)
    assert other.Y() == pytest.approx(high, abs=1e-4)
    assert other.X() == pytest.approx(gauge.fit.flange_mm, abs=0.01)
    assert low == 0.0


def test_slabs_add_up_to_the_body_they_are_read_from(gauge):
    """Chords of a cut are the body's own, so the sum is the volume to the last digits that a slicer keeps."""
    for piece in gauge.pieces:
        whole = piece.body if piece.uncut is None else piece.uncut
        summed = math.fsum(shape.area * (high - low) for shape, low, high in slabs_of(whole))
        assert summed == pytest.approx(whole.volume(), rel=1e-4)


def test_patterns_for_sheet_leave_as_dxf_and_say_so(tmp_path, capsys):
    assert run(["gauge", str(PICKUP), "--flat", "blade", "--step", "--out", str(tmp_path / "g")]) == 2
    assert "DXF" in capsys.readouterr().err
    assert not (tmp_path / "g").exists()
