"""A real slicer takes every printed piece: no error, nothing repaired, something to print."""

import re
import shutil
import subprocess
from pathlib import Path

import pytest

from clearance.description.load import load
from clearance.export.stl import stl
from clearance.export.three_mf import Mesh, three_mf
from clearance.gauge.making import Making
from clearance.gauge.mock_gauge import gauge_for

CORNERS = sorted((Path(__file__).parents[2] / "fixtures" / "corners").glob("*.toml"))
SLICER = shutil.which("prusa-slicer")


@pytest.mark.slow
@pytest.mark.skipif(SLICER is None, reason="prusa-slicer is not installed (Debian package prusa-slicer)")
@pytest.mark.parametrize("corner", CORNERS, ids=lambda p: p.stem)
def test_every_piece_is_sliced_without_a_repair(corner, tmp_path):
    """prusa-slicer --info says manifold = yes and needs no repair; --export-gcode extrudes filament for each piece."""
    gauge = gauge_for(load(corner), Making())
    for piece in gauge.pieces:
        vertices, faces = piece.mesh()
        place = tmp_path / f"{piece.number:02d}.stl"
        place.write_bytes(stl([(vertices, faces)], name=piece.name))
        said = subprocess.run([SLICER, "--info", place.name], cwd=tmp_path, capture_output=True, text=True, timeout=120)
        assert said.returncode == 0, said.stderr
        assert "manifold = yes" in said.stdout, said.stdout
        for word in ("degenerate_facets", "edges_fixed", "facets_removed", "facets_reversed", "backwards_edges"):
            found = re.search(rf"{word}\s*=\s*(\d+)", said.stdout)
            assert found is None or int(found[1]) == 0, said.stdout
        assert int(re.search(r"number_of_parts\s*=\s*(\d+)", said.stdout)[1]) == 1
        bed = "--bed-shape=0x0,220x0,220x220,0x220"
        quick = ["--layer-height=0.3", "--fill-density=5%"]
        run = [SLICER, "--export-gcode", *quick, bed, "--max-print-height=250", "--output", "piece.gcode", place.name]
        cut = subprocess.run(run, cwd=tmp_path, capture_output=True, text=True, timeout=300)
        assert cut.returncode == 0, cut.stderr
        assert not re.search(r"error|repair|could not|outside of the print", cut.stdout + cut.stderr, re.IGNORECASE), (
            cut.stdout + cut.stderr
        )
        used = re.search(r"filament used \[cm3\] = ([\d.]+)", (tmp_path / "piece.gcode").read_text())
        assert float(used[1]) > 0.1


@pytest.mark.slow
@pytest.mark.skipif(SLICER is None, reason="prusa-slicer is not installed (Debian package prusa-slicer)")
def test_the_slicer_reads_the_pieces_of_the_3mf_at_their_size(tmp_path):
    gauge = gauge_for(load(next(p for p in CORNERS if "orchard" in p.name)), Making())
    piece = gauge.pieces[0]
    (tmp_path / "one.3mf").write_bytes(three_mf([Mesh(name="p", vertices_mm=piece.mesh()[0], faces=piece.mesh()[1])]))
    said = subprocess.run([SLICER, "--info", "one.3mf"], cwd=tmp_path, capture_output=True, text=True, timeout=120)
    assert "manifold = yes" in said.stdout
    size = [float(re.search(rf"size_{axis}\s*=\s*([\d.]+)", said.stdout)[1]) for axis in "xyz"]
    assert size == pytest.approx(piece.extent_mm, abs=0.01)
