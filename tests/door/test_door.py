"""The door for Python: its names, its values, and that it answers as the command line does."""

from __future__ import annotations

import contextlib
import dataclasses
import io
import json
import re
import subprocess
import sys
import tomllib
from pathlib import Path

import numpy as np
import pytest
import trimesh
from clearance_cli.main import run
from few import FEW

import clearance

ROOT = Path(__file__).parents[2]
CORNERS = ROOT / "fixtures" / "corners"
PICKUP = CORNERS / "orchard-pickup-rear.toml"
PYTHON = re.compile(r"```python\n(.*?)```", re.DOTALL)


@pytest.fixture(scope="module")
def pickup():
    return clearance.load(PICKUP)


@pytest.fixture(scope="module")
def checked(pickup):
    return clearance.check(pickup)


@pytest.fixture(scope="module")
def few(tmp_path_factory):
    """A file of two parts, and what is read from it."""
    file = tmp_path_factory.mktemp("few") / "few.toml"
    file.write_text(FEW, encoding="utf-8")
    return file, clearance.load(file)


# ---- names


def test_the_names_are_those_of_the_page(monkeypatch):
    """Where this fails: python docs/python_page.py, and read what changed."""
    monkeypatch.syspath_prepend(str(ROOT / "docs"))
    sys.modules.pop("python_page", None)
    import python_page

    page = (ROOT / "docs" / "python.md").read_text(encoding="utf-8")
    assert python_page.written(page) == page


def test_names_are_sorted_and_each_is_there():
    assert clearance.__all__ == sorted(set(clearance.__all__))
    for name in clearance.__all__:
        assert getattr(clearance, name) is not None
        assert name in dir(clearance)
    with pytest.raises(AttributeError, match="offers no chrome_plating"):
        _ = clearance.chrome_plating


def test_no_name_is_a_room():
    """A room that is loaded becomes a name of the package, and would take the place of what was meant."""
    rooms = {path.name.removesuffix(".py") for path in (ROOT / "clearance").iterdir()}
    assert [name for name in clearance.__all__ if name in rooms] == []


def test_a_type_checker_sees_every_name():
    source = (ROOT / "clearance" / "__init__.py").read_text(encoding="utf-8")
    seen = set(re.findall(r" as (\w+)$", source, re.MULTILINE))
    assert seen == set(clearance.__all__)


def test_the_import_is_light():
    """Neither numpy nor any room before a name is asked for."""
    code = "import sys, clearance; print(sorted(m for m in sys.modules if m.startswith(('numpy', 'clearance.'))))"
    said = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert said.stdout.strip() == "[]"


# ---- what the pages show


@pytest.mark.parametrize("page", ["README.md", "docs/python.md"])
def test_the_python_of_the_pages_runs(page, tmp_path, monkeypatch):
    blocks = PYTHON.findall((ROOT / page).read_text(encoding="utf-8"))
    assert blocks
    (tmp_path / "fixtures").symlink_to(ROOT / "fixtures")
    monkeypatch.chdir(tmp_path)
    for block in blocks:
        with contextlib.redirect_stdout(io.StringIO()) as out:
            exec(compile(block, page, "exec"), {})
        assert out.getvalue().strip()
    if page == "README.md":
        assert "<svg" in (tmp_path / "gaps.svg").read_text()
        assert len(blocks[0].strip().splitlines()) <= 12


# ---- answers


def said(*words: str) -> str:
    out = io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(io.StringIO()):
        run([*words])
    return out.getvalue()


@pytest.mark.parametrize(
    ("verb", "question"),
    [
        ("check", clearance.check),
        pytest.param("window", clearance.window, marks=pytest.mark.slow),
        ("relief", clearance.relief),
        ("order", clearance.order),
        ("motion", clearance.motion),
        ("other", clearance.other),
        ("budget", clearance.budget),
    ],
)
def test_an_answer_is_what_the_command_prints(verb, question, few):
    file, corner = few
    answer = question(corner)
    assert json.loads(said(verb, str(file), "--json")) == json.loads(json.dumps(answer.to_dict()))
    assert said(verb, str(file)).strip() == answer.words().strip() == repr(answer).strip()


def test_an_answer_shows_itself(checked, pickup):
    shown = checked._repr_html_()
    assert shown.count("<svg") == 1
    assert "\\n" not in shown
    assert max(map(len, shown.split("<pre>")[1].split("\n"))) <= 120
    assert "<pre>Orchard half-ton" in shown
    assert checked.verdict == checked.value.verdict == "clears"
    assert checked.worst.part == "inner wall"
    rows = checked.rows()
    assert [row["name"] for row in rows] == [part["name"] for part in checked.to_dict()["parts"]]
    assert rows[0]["gap.at_least"] == checked.to_dict()["parts"][0]["gap"]["at_least"]
    assert not any(isinstance(value, dict) for row in rows for value in row.values())
    assert checked.corner is pickup


def test_words_of_a_file_cannot_become_markup_in_a_notebook(pickup):
    named = clearance.changed(pickup, title="<script>alert(1)</script>")
    assert "<script>" not in clearance.check(named)._repr_html_()


def test_files_come_as_bytes(few):
    checked = clearance.check(few[1])
    assert clearance.report_of(checked).startswith(b"<!doctype html>")
    assert clearance.scene_of(checked)[:4] == b"glTF"
    views = [f"{view}.{kind}" for view in ("behind", "places", "plan", "side") for kind in ("dxf", "svg")]
    assert sorted(clearance.drawings_of(checked)) == sorted([*views, "drawings.pdf"])
    with pytest.raises(clearance.InputError, match="view"):
        clearance.drawings_of(checked, full_size="askew")


def test_an_envelope_is_a_closed_mesh_for_other_programs(pickup):
    """It holds the tire at ride height: its top is higher than the tire's."""
    envelope = clearance.envelope_of(pickup, slack_mm=2.0)
    mesh = clearance.to_trimesh(envelope)
    assert mesh.is_watertight
    assert mesh.bounds[1][2] > pickup.tire.overall_diameter_mm / 2
    with pytest.raises(clearance.InputError, match="no surface"):
        clearance.to_trimesh(pickup)


def test_a_certificate_is_checked_from_bytes(few):
    _, corner = few
    found = clearance.verify(corner, clearance.certificate_of(clearance.check(corner)))
    assert found.value.verdict == "clears"
    assert {part.name for part in found.value.parts} == {part.name for part in corner.parts}


# ---- corners from values, and variants


def test_a_corner_from_values_is_the_one_of_the_file(pickup):
    """The straight axle, the wall and the rail of the pickup, number by number."""
    inch = clearance.MM_PER_INCH
    reach_mm = float(np.abs(pickup.part("inner wall").triangles_mm).max())
    wall, rail = pickup.part("inner wall"), pickup.part("frame rail")
    built = clearance.corner_from(
        title=pickup.title,
        corner="rear-left",
        tire=clearance.tire_from(
            "235/75R15",
            rim_width_in=7,
            overall_diameter_mm=28.875 * inch,
            section_width_mm=239,
            tread_width_mm=188,
            growth="in-service",
        ),
        wheel=clearance.wheel_from(diameter_in=15, width_in=7, backspace_mm=3.75 * inch),
        suspension=clearance.suspension_from(
            bump_mm=3.5 * inch,
            droop_mm=3 * inch,
            shift=clearance.Shift(inboard_mm=6, outboard_mm=6, ahead_mm=3, behind_mm=3),
        ),
        parts=[
            clearance.wall(
                clearance.Tag(name="inner wall", required_mm=wall.required_mm),
                reach_mm=reach_mm,
                inboard_mm=6 * inch,
                ahead_mm=17 * inch,
                behind_mm=17 * inch,
                below_mm=4 * inch,
            ),
            clearance.box(
                clearance.Tag(name="frame rail", required_mm=rail.required_mm),
                min_mm=(-36 * inch, -13 * inch, 4 * inch),
                max_mm=(36 * inch, -10.5 * inch, 10 * inch),
            ),
        ],
    )
    read = clearance.changed(pickup, parts=[wall, rail])
    for ours, theirs in zip(clearance.check(built).gaps, clearance.check(read).gaps, strict=True):
        assert ours.at_least_mm == pytest.approx(theirs.at_least_mm, abs=0.06)
        assert ours.at_most_mm == pytest.approx(theirs.at_most_mm, abs=0.06)


EDITS = [
    ({"backspace_mm": 101.6}, ('backspace = "3 3/4 in"', 'backspace = "4 in"')),
    ({"offset_mm": -20.0}, ('backspace = "3 3/4 in"', 'offset = "-20 mm"')),
    ({"spacer_mm": 10.0}, ('backspace = "3 3/4 in"', 'offset = "-16.35 mm"')),
    ({"bump_stop_mm": 25.4}, ('bump = "3 1/2 in"', 'bump = "2 1/2 in"')),
    ({"moved_mm": {"frame rail": (0.0, 12.7, 0.0)}},
     ('min = ["-36 in", "-13 in", "4 in"]\nmax = ["36 in", "-10 1/2 in", "10 in"]',
      'min = ["-36 in", "-12 1/2 in", "4 in"]\nmax = ["36 in", "-10 in", "10 in"]')),
]  # fmt: skip


@pytest.mark.parametrize(("change", "edit"), EDITS, ids=lambda one: next(iter(one)) if isinstance(one, dict) else "")
def test_a_variant_is_the_edited_file(change, edit, pickup):
    """Brackets of the same gap may differ by the tolerance; so may the size of a sheet that goes on without end."""
    text = PICKUP.read_text(encoding="utf-8")
    assert edit[0] in text
    edited = clearance.read(text.replace(*edit), beside=CORNERS)
    ours, theirs = clearance.check(clearance.changed(pickup, **change)), clearance.check(edited)
    for one, other in zip(ours.gaps, theirs.gaps, strict=True):
        assert one.at_least_mm <= other.at_most_mm + 1e-6
        assert other.at_least_mm <= one.at_most_mm + 1e-6
        assert one.verdict == other.verdict


def test_backspace_and_offset_at_once_are_refused(pickup):
    with pytest.raises(clearance.InputError, match="give one of them"):
        clearance.changed(pickup, backspace_mm=100, offset_mm=0)


def test_nothing_can_be_changed_in_place(pickup, checked):
    with pytest.raises(dataclasses.FrozenInstanceError):
        pickup.title = "another"
    with pytest.raises(dataclasses.FrozenInstanceError):
        checked.value.gaps = ()
    with pytest.raises(ValueError, match="read-only"):
        pickup.parts[0].triangles_mm[0, 0, 0] = 0.0


def test_a_mesh_of_another_library_is_the_box_that_it_is(pickup):
    """A block between the same corners as `box` makes it."""
    rail = pickup.part("frame rail")
    low, high = rail.triangles_mm.reshape(-1, 3).min(axis=0), rail.triangles_mm.reshape(-1, 3).max(axis=0)
    block = trimesh.creation.box(bounds=[low / 25.4, high / 25.4])
    part = clearance.surface_from(
        name="frame rail", vertices=block.vertices, faces=block.faces, unit="in", required_mm=rail.required_mm
    )
    ours, theirs = (clearance.check(clearance.changed(pickup, parts=[one])).gaps[0] for one in (part, rail))
    assert ours.at_least_mm == pytest.approx(theirs.at_least_mm, abs=0.06)
    assert ours.verdict == theirs.verdict


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        ({"unit": "furlong"}, "no unit"),
        ({"faces": [[0, 1, 9]]}, "not there"),
        ({"faces": [[0.0, 1.0, 2.0]]}, "whole numbers"),
        ({"vertices": [[0, 0], [1, 1], [2, 2]]}, "three numbers"),
        ({"vertices": [[0, 0, float("nan")], [1, 0, 0], [0, 1, 0]]}, "nowhere|finite|number"),
    ],
)
def test_arrays_that_are_no_mesh_are_refused(wrong, words):
    given = {"vertices": [[0, 0, 0], [1, 0, 0], [0, 1, 0]], "faces": [[0, 1, 2]], "unit": "mm", "name": "sheet"}
    with pytest.raises(clearance.InputError, match=words):
        clearance.surface_from(**(given | wrong))


def test_the_schema_is_the_one_that_is_shipped():
    shipped = json.loads((ROOT / "docs" / "corner-file.schema.json").read_text(encoding="utf-8"))
    assert json.loads(json.dumps(clearance.corner_file_schema())) == shipped
    assert tomllib.loads(PICKUP.read_text(encoding="utf-8"))["corner"] in shipped["properties"]["corner"]["enum"]


def test_a_plot_has_a_line_for_every_part(pickup):
    axes = clearance.plot_gaps(pickup, backspace_mm=(90, 100))
    labels = [text.get_text() for text in axes.get_legend().get_texts()]
    assert labels == [part.name for part in pickup.parts]
    wall = axes.get_lines()[labels.index("inner wall")]
    assert wall.get_ydata()[0] - wall.get_ydata()[1] == pytest.approx(10.0, abs=0.1)
    with pytest.raises(clearance.OutputError, match="one change"):
        clearance.plot_gaps(pickup)
