"""Flat patterns to DXF bytes, for a laser, a router, a plasma table or a CAD program.

The unit is declared as millimetres ($INSUNITS 4, $MEASUREMENT 1). Layers carry plain words: cut, engrave, fold. A
chain stays one polyline whose arcs are true arcs (bulges), a circle stays a circle, and writing becomes single strokes,
so that nothing depends on a font of the machine. Same pattern, same bytes.
"""

from __future__ import annotations

import io
import math
from collections.abc import Callable, Sequence
from typing import Any

from clearance.errors import OutputError
from clearance.geom.drawing import (
    CENTRE,
    CUT,
    ENGRAVE,
    EXTREME,
    FOLD,
    HIDDEN,
    LOCK,
    MACHINE_LAYERS,
    PAPER_LAYERS,
    Circle,
    Dimension,
    Drawing,
    Mark,
    Path,
    Text,
    dimension_marks,
    drawing_of,
)
from clearance.geom.letters import strokes_in_place
from clearance.geom.profile import Arc

MILLIMETRES = 4
"""$INSUNITS, DXF reference."""

_COLOURS = {CUT: 7, ENGRAVE: 5, FOLD: 30}
"""AutoCAD colour index: black or white, blue, orange; black or white where none is given."""
_LINES = {FOLD: "DASHED", HIDDEN: "DASHED", CENTRE: "CENTER", EXTREME: "PHANTOM", LOCK: "DOT"}


def dxf(drawing: Drawing) -> bytes:
    """The marks of a drawing that a machine follows; marks on paper layers are left out.

    Raises OutputError where no mark is on a machine layer.
    """
    marks = drawing.on(*MACHINE_LAYERS)
    if not marks.marks:
        raise OutputError("there is nothing to cut: the pattern has no mark on the layers cut, engrave or fold.")
    return _without_a_clock(lambda: _written(marks))


def view_dxf(drawing: Drawing, larger: float = 1.0) -> bytes:
    """A whole drawing for a CAD program, so many times as large: every mark on a layer of its kind.

    A dimension is a DIMENSION: the program measures it between its own two points, and shows the figure written here.
    Raises OutputError where there is no mark.
    """
    if not drawing.marks:
        raise OutputError("there is nothing to draw.")
    return _without_a_clock(lambda: _written(drawing, PAPER_LAYERS, larger))


def _written(marks: Drawing, layers: Sequence[str] = MACHINE_LAYERS, larger: float = 1.0) -> bytes:
    document = _empty(layers)
    for mark in marks.marks:
        if isinstance(mark, Dimension) and layers == PAPER_LAYERS:
            _measured(document, mark, larger)
        else:
            _place(document.modelspace(), drawing_of([mark]).scaled(larger).marks[0])
    # named here in their order: ezdxf would go through a set, whose order is another one in every run
    for kind in sorted(document.entitydb.dxf_types_in_use()):
        document.classes.add_class(kind)
    stream = io.StringIO()
    document.write(stream)
    return stream.getvalue().encode("utf-8")


def _place(space: Any, mark: Mark) -> None:
    where = {"layer": mark.layer}
    if isinstance(mark, Circle):
        space.add_circle(mark.centre, mark.radius_mm, dxfattribs=where)
    elif isinstance(mark, Text):
        for stroke in strokes_in_place(mark):
            space.add_lwpolyline([(float(x), float(y)) for x, y in stroke], dxfattribs=where)
    elif isinstance(mark, Path):
        space.add_lwpolyline(bulged(mark), format="xyb", close=mark.closed, dxfattribs=where)
    else:
        raise OutputError("a dimension cannot be cut; put it on a paper layer.")


def _measured(document: Any, mark: Dimension, larger: float) -> None:
    """A dimension with its two points, its figure, and the lines that it is drawn with in a block of its own."""
    drawn = dimension_marks(mark)
    if not drawn:
        return
    scaled = drawing_of([mark]).scaled(larger).marks[0]
    assert isinstance(scaled, Dimension)
    made = document.modelspace().add_aligned_dim(
        scaled.start, scaled.end, scaled.off_mm, text=scaled.text or "<>", dxfattribs={"layer": mark.layer}
    )
    figure = next(one for one in drawn if isinstance(one, Text))
    made.dimension.dxf.text_midpoint = (larger * figure.at[0], larger * figure.at[1], 0.0)
    block = document.blocks.new_anonymous_block(type_char="D")
    for one in drawing_of(drawn).scaled(larger).marks:
        _place(block, one)
    made.dimension.dxf.geometry = block.name
    made.dimension.dxf.actual_measurement = math.dist(scaled.start, scaled.end)


def bulged(path: Path) -> list[tuple[float, float, float]]:
    """Vertices (x, y, bulge) of a chain; bulge = tan(a quarter of the turn), positive to the left (DXF reference)."""
    rows = [(*e.start, math.tan(e.sweep_rad / 4) if isinstance(e, Arc) else 0.0) for e in path.elements]
    if not path.closed:
        rows.append((*path.elements[-1].end, 0.0))
    return rows


def _empty(layers: Sequence[str]) -> Any:
    from ezdxf import units
    from ezdxf.filemanagement import new

    document = new("R2010", setup=["linetypes"])
    document.units = units.MM
    document.header["$MEASUREMENT"] = 1
    for name in layers:
        document.layers.add(name, color=_COLOURS.get(name, 7), linetype=_LINES.get(name, "Continuous"))
    return document


def _without_a_clock(write: Callable[[], bytes]) -> bytes:
    """What `write` gives while ezdxf leaves the clock and fresh identities out of the file."""
    from ezdxf._options import options

    kept = options.write_fixed_meta_data_for_testing
    options.write_fixed_meta_data_for_testing = True
    try:
        return write()
    finally:
        options.write_fixed_meta_data_for_testing = kept
