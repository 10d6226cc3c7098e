"""DXF as another program reads it: ezdxf's own reader and its audit."""

import io
import itertools
import math

import ezdxf
import pytest

from clearance.errors import OutputError
from clearance.export.dxf import bulged, dxf
from clearance.geom.drawing import CUT, ENGRAVE, FOLD, THIN, Circle, Dimension, Drawing, Path, Text, arc, line
from clearance.geom.profile import Arc, Line


def read(data: bytes):
    return ezdxf.read(io.StringIO(data.decode()))


SLOT = Path(
    elements=(
        Line(start=(0.0, 0.0), end=(50.0, 0.0)),
        Arc(start=(50.0, 0.0), end=(50.0, 20.0), centre=(50.0, 10.0), ccw=True),
        Line(start=(50.0, 20.0), end=(0.0, 20.0)),
        Arc(start=(0.0, 20.0), end=(0.0, 0.0), centre=(0.0, 10.0), ccw=True),
    ),
    layer=CUT,
)
PATTERN = Drawing(
    marks=(
        SLOT,
        Circle(centre=(100.0, 10.0), radius_mm=7.25, layer=CUT),
        arc((0, 0), 300.0, 20.0, 200.0, FOLD),
        Text(at=(5.0, 5.0), text="2 out", height_mm=6.0, layer=ENGRAVE),
        line((0, 0), (1, 1), THIN),
    )
)


def test_the_audit_finds_nothing_and_the_unit_is_millimetres():
    document = read(dxf(PATTERN))
    audit = document.audit()
    assert not audit.errors
    assert not audit.fixes
    # $INSUNITS 4 is millimetres, $MEASUREMENT 1 is metric: DXF reference, HEADER section
    assert document.header["$INSUNITS"] == 4
    assert document.header["$MEASUREMENT"] == 1
    assert {"cut", "engrave", "fold"} <= {layer.dxf.name for layer in document.layers}


def test_marks_for_paper_are_left_out():
    layers = [e.dxf.layer for e in read(dxf(PATTERN)).modelspace()]
    assert set(layers) == {"cut", "engrave", "fold"}


def test_a_slot_has_its_area_and_its_arcs_their_radius():
    """A slot of two 50 mm sides and two half circles of 10 mm: area 50 x 20 + pi 10^2."""
    space = read(dxf(PATTERN)).modelspace()
    slot = next(e for e in space.query("LWPOLYLINE") if e.closed)
    arcs = [e for e in slot.virtual_entities() if e.dxftype() == "ARC"]
    assert [a.dxf.radius for a in arcs] == pytest.approx([10.0, 10.0], abs=1e-9)
    flat = ezdxf.path.make_path(slot).flattening(0.001)
    points = [(p.x, p.y) for p in flat]
    area = 0.5 * sum(a[0] * b[1] - b[0] * a[1] for a, b in itertools.pairwise(points))
    # flattened within 0.001 mm of a 62.8 mm run of arc
    assert area == pytest.approx(50 * 20 + math.pi * 100, abs=0.06)


def test_an_open_arc_keeps_its_sweep():
    space = read(dxf(PATTERN)).modelspace()
    fold = next(e for e in space.query("LWPOLYLINE") if e.dxf.layer == "fold")
    found = next(iter(fold.virtual_entities()))
    assert found.dxf.radius == pytest.approx(300.0, abs=1e-6)
    assert (found.dxf.end_angle - found.dxf.start_angle) % 360 == pytest.approx(180.0, abs=1e-6)


def test_a_clockwise_arc_has_a_negative_bulge():
    """DXF reference: bulge is the tangent of a quarter of the turn, negative where it turns right."""
    right = Path(elements=(Arc(start=(0.0, 1.0), end=(1.0, 0.0), centre=(0.0, 0.0), ccw=False),), layer=CUT)
    assert bulged(right)[0][2] == pytest.approx(-math.tan(math.pi / 8))


def test_same_pattern_same_bytes():
    assert dxf(PATTERN) == dxf(PATTERN)


def test_nothing_to_cut_is_refused():
    with pytest.raises(OutputError, match="nothing to cut"):
        dxf(Drawing(marks=(line((0, 0), (1, 1), THIN),)))


def test_a_dimension_on_a_cutting_layer_is_refused():
    with pytest.raises(OutputError, match="dimension"):
        dxf(Drawing(marks=(Dimension(start=(0, 0), end=(9, 0), layer=CUT),)))
