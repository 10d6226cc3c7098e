"""SVG: a millimetre is a millimetre, y is turned over once, arcs stay arcs."""

from __future__ import annotations

import math
import xml.etree.ElementTree as ElementTree

import pytest

from clearance.export.svg import picture, sheet
from clearance.geom.drawing import Circle, Dimension, Text, arc, drawing_of, line, rectangle

NS = "{http://www.w3.org/2000/svg}"


def root_of(content: bytes) -> ElementTree.Element:
    return ElementTree.fromstring(content)


def test_the_file_states_its_size_in_millimetres_and_one_unit_is_one_millimetre():
    root = root_of(sheet(drawing_of([line((0, 0), (100, 0)), line((0, 0), (0, 40))]), margin_mm=5))
    assert (root.get("width"), root.get("height")) == ("110mm", "50mm")
    assert root.get("viewBox") == "0 0 110 50"


def test_up_on_the_drawing_is_up_on_the_screen():
    root = root_of(sheet(drawing_of([line((0, 0), (0, 40)), Text(at=(0, 40), text="top")]), margin_mm=0))
    text = root.find(f".//{NS}text")
    assert text is not None
    assert float(text.get("y", "nan")) < 10


def test_an_arc_bulges_to_the_side_that_it_does_on_paper():
    """SVG 1.1, 8.3.8: sweep-flag 1 draws in the direction of positive angles, which with y down is clockwise.

    A half circle from (10, 0) turning left about (0, 0) passes (0, 10), which is up: counter-clockwise, flag 0.
    """
    root = root_of(sheet(drawing_of([arc((0, 0), 10, 0, 180)]), margin_mm=0))
    path = root.find(f".//{NS}path")
    assert path is not None
    steps = path.get("d", "").replace("M", " ").replace("A", " ").split()
    assert steps[2:4] == ["10", "10"]
    assert steps[6] == "0"
    back = root_of(sheet(drawing_of([arc((0, 0), 10, 180, 0)]), margin_mm=0)).find(f".//{NS}path")
    assert back is not None
    assert back.get("d", "").replace("M", " ").replace("A", " ").split()[6] == "1"


def test_more_than_half_a_turn_is_the_large_arc():
    path = root_of(sheet(drawing_of([arc((0, 0), 10, 0, 270)]))).find(f".//{NS}path")
    assert path is not None
    assert path.get("d", "").replace("M", " ").replace("A", " ").split()[5] == "1"


def test_a_dimension_carries_the_length_that_was_measured():
    root = root_of(sheet(drawing_of([Dimension(start=(0, 0), end=(30, 40))])))
    assert [text.text for text in root.iter(f"{NS}text")] == [f"{math.hypot(30, 40):.1f}"]


def test_writing_from_outside_cannot_break_the_file():
    words = "<script>&'\"</script>"
    root = root_of(sheet(drawing_of([Text(at=(0, 0), text=words)]), title=words))
    assert next(root.iter(f"{NS}text")).text == words
    said = ElementTree.fromstring(picture(drawing_of([rectangle(0, 0, 5, 5)]), title=words, description=words))
    assert said.get("aria-label") == f"{words}. {words}"


@pytest.mark.parametrize("shade", [0.0, 0.5, 1.0])
def test_a_picture_takes_the_ink_of_the_page(shade):
    text = picture(drawing_of([Circle(centre=(0, 0), radius_mm=3, shade=shade)]), title="t", description="d")
    assert "currentColor" in text
    assert "#000" not in text


def test_the_same_drawing_is_the_same_bytes():
    drawing = drawing_of([arc((0, 0), 10, 0, 123), Text(at=(1, 2), text="x")])
    assert sheet(drawing) == sheet(drawing)
