"""The assumed road section against a tire that somebody else modelled.

A public tire mesh (Project Chrono, BSD-3-Clause): 677.7 mm over its tread blocks, 205 mm wide, for a 15 in rim.
It is not part of this project; without it beside the project the test is skipped.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from clearance.mockup.solid import solid_of
from clearance.tire.mounted import Tape, tire_for
from clearance.wheel.rim import wheel_for

MESH = Path(__file__).parents[2].parent / "shared" / "real" / "sedan-tire.obj"
ABOVE_RIM_MM = 215.0
"""Below this radius the mesh shows its bead and rim, which are not compared."""


@pytest.fixture(scope="module")
def vertices() -> np.ndarray:
    if not MESH.exists():
        pytest.skip(f"no real tire mesh at {MESH}")
    import trimesh

    points = np.asarray(trimesh.load(MESH, force="mesh", process=False).vertices) * 1000.0
    return points[np.hypot(points[:, 0], points[:, 2]) > ABOVE_RIM_MM]


def _distances(vertices: np.ndarray, tread_mm: float | None) -> np.ndarray:
    tape = Tape(overall_diameter_mm=677.7, section_width_mm=205.0, tread_width_mm=tread_mm)
    solid = solid_of(tire_for(rim_diameter_in=15, tape=tape), wheel_for(15, 6, offset_mm=0))
    return solid.distance(vertices)


def test_with_its_tread_measured_the_section_is_the_real_one_to_the_depth_of_a_groove(vertices: np.ndarray) -> None:
    """Its shoulders begin 120 mm apart. Nothing sticks out by more than 1.5 mm; grooves (3 mm) lie inside."""
    distance = _distances(vertices, 120.0)
    assert distance.max() < 1.5
    assert distance.min() > -3.5


def test_with_its_tread_assumed_the_section_errs_to_the_full_side(vertices: np.ndarray) -> None:
    """80 % of the section width is fuller in the shoulder than this tire by up to 9 mm; leaner nowhere by over 1.5."""
    distance = _distances(vertices, None)
    assert distance.max() < 1.5
    assert -9.0 < distance.min() < -5.0
