"""`clearance scan` as a user runs it."""

from __future__ import annotations

import json
import re
import tomllib
from pathlib import Path

import pytest
from clearance_cli.main import run

ROOT = Path(__file__).resolve().parents[2]
REAL = ROOT / ".." / "shared" / "real"
WELL = ROOT / "fixtures" / "corners" / "scanned-well.ply"
PLACE = (
    "{ face = [[0.2945, 0.4373, -0.5081], [0.1180, 0.4196, -0.5076], [0.1356, 0.2433, -0.5079],"
    ' [0.3116, 0.2597, -0.5079]], up = "+y", ahead = "+x", face_outboard = "12 mm" }'
)


def said(capsys: pytest.CaptureFixture[str], *words: str, code: int = 0) -> str:
    assert run(["scan", *words]) == code
    spoken = capsys.readouterr()
    assert "Traceback" not in spoken.err
    return spoken.out if code == 0 else spoken.err


def test_without_a_unit_every_size_is_shown_and_none_is_taken(capsys):
    out = said(capsys, str(WELL))
    assert "10,392 triangles" in out
    assert re.search(r"  m: 1\.03 m x 666 mm x .*<- a wheel well may be so large", out)
    assert "The file does not say: state --unit" in out
    assert "# unit =" in out
    assert "\nunit =" not in out


def test_a_placed_scan_says_where_it_stands_and_what_it_was_placed_by(capsys):
    out = said(capsys, str(WELL), "--unit", "m", "--place", PLACE, "--tire", "26 in")
    assert "4 picked points: a circle 250.9 mm (9 7/8 in) across" in out
    assert "Nothing speaks against this place, judged by a tire of 660.4 mm (26 in)." in out
    # the well's front and rear sheets are 2 x 405 mm apart; noise, and spots on the lower sheets, take some of it
    span = float(re.search(r"at its height: ([\d.]+) mm", out)[1])  # type: ignore[index]
    assert 740.0 < span < 815.0


def test_the_suggested_lines_are_a_part_of_a_corner_file(capsys):
    out = said(capsys, str(WELL), "--unit", "m", "--place", PLACE)
    (part,) = tomllib.loads(out[out.index("[[part]]") :])["part"]
    assert part["kind"] == "mesh"
    assert part["unit"] == "m"
    assert len(part["place"]["face"]) == 4
    open_lines = said(capsys, str(WELL))
    assert "unit" not in tomllib.loads(open_lines[open_lines.index("[[part]]") :])["part"][0]


def test_json_has_every_number_and_nothing_else_on_stdout(capsys):
    table = json.loads(said(capsys, str(WELL), "--unit", "m", "--place", PLACE, "--json"))
    assert table["triangles"] == 10392
    assert table["units"] == ["m"]
    assert table["mm_per_unit"] == 1000.0
    assert table["size_mm"]["in"][0] == pytest.approx(table["size"][0] * 25.4, abs=1e-3)
    assert table["placed"]["doubts"] == []
    assert table["placed"]["placing_uncertainty_mm"] > 1.0


def test_a_measured_distance_stands_for_the_unit(capsys):
    scale = '{ from = [0.2945, 0.4373, -0.5081], to = [0.1356, 0.2433, -0.5079], distance = "250.8 mm" }'
    table = json.loads(said(capsys, str(WELL), "--scale", scale, "--json"))
    assert table["mm_per_unit"] == pytest.approx(1000.0, rel=0.002)


def test_the_wrong_side_is_doubted(capsys):
    place = '{ hub = [0.215, 0.34, -0.52], up = "+y", ahead = "+x" }'
    assert "Nothing speaks against" in said(capsys, str(WELL), "--unit", "m", "--place", place)
    assert "wrong side" in said(capsys, str(WELL), "--unit", "m", "--place", place, "--side", "right")


@pytest.mark.parametrize("name", ["look.png", "look.svg"])
def test_the_picture_is_the_same_every_time(name, tmp_path, capsys):
    pytest.importorskip("matplotlib")
    made = []
    for _ in range(2):
        said(capsys, str(WELL), "--unit", "m", "--place", PLACE, "--picture", str(tmp_path / name))
        made.append((tmp_path / name).read_bytes())
    assert made[0] == made[1]
    assert made[0].startswith(b"\x89PNG" if name.endswith("png") else b"<?xml")
    assert len(made[0]) > 10_000


REFUSED = {
    "no file": (["nowhere.obj"], "no such file"),
    "unknown unit": ([str(WELL), "--unit", "yard"], "'yard' is not a unit"),
    "place without a unit": ([str(WELL), "--place", PLACE], "the unit of the scan is not stated"),
    "place that is not TOML": ([str(WELL), "--unit", "m", "--place", "{ hub = "], "cannot be read"),
    "place of no kind": (
        [str(WELL), "--unit", "m", "--place", '{ up = "+y" }'],
        "a scan is placed by one of hub, face or bolt_holes",
    ),
    "place with a stray word": (
        [str(WELL), "--unit", "m", "--place", '{ hub = [0, 0, 0], up = "+y", foward = "+x" }'],
        'the key "foward" is not known here',
    ),
    "hub of two numbers": (
        [str(WELL), "--unit", "m", "--place", "{ hub = [0, 0] }"],
        "--place hub: the list ends too early",
    ),
    "bare length": (
        [str(WELL), "--unit", "m", "--place", '{ hub = [0, 0, 0], up = "+y", ahead = "+x", within = 2 }'],
        "has no unit",
    ),
    "face of one number": ([str(WELL), "--unit", "m", "--place", "{ face = 3 }"], "--place face: 3 is not a list"),
    "holes without a circle": ([str(WELL), "--unit", "m", "--place", "{ bolt_holes = [[0, 0, 0]] }"], "bolt_circle"),
    "one direction": ([str(WELL), "--unit", "m", "--place", '{ hub = [0, 0, 0], up = "+y" }'], "two of the directions"),
    "scale without a distance": ([str(WELL), "--scale", "{ from = [0, 0, 0] }"], "\"to\" is missing"),
    "tire of a mouse": ([str(WELL), "--tire", "3 mm"], "overall diameter"),
    "side": ([str(WELL), "--unit", "m", "--place", "corner axes", "--side", "top"], '"left" or "right"'),
    "picture": ([str(WELL), "--picture", "look.gif"], "drawn as .png or .svg"),
}  # fmt: skip


@pytest.mark.parametrize("case", REFUSED)
def test_a_wrong_word_gets_one_message_and_code_2(case, capsys):
    words, message = REFUSED[case]
    assert message in said(capsys, *words, code=2)


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("sedan-body.obj", "m: 4.89 m x 1.85 m x 1.47 m   <- a whole car"),
        ("leaf-van-body.obj", "m: 4.50 m x 2.20 m x 1.62 m   <- a whole car"),
        ("open-4x4-body.obj", "m: 4.00 m x 1.94 m x 1.54 m   <- a whole car"),
        ("hatchback-body-centimetres.obj", "cm: 2.01 m x 4.62 m x 1.39 m   <- a whole car"),
        ("sedan-tire.obj", "m: 676 mm x 205 mm x 677 mm   <- a wheel well"),
    ],
)
def test_public_meshes_are_looked_at(name, words, capsys):
    if not (REAL / name).exists():
        pytest.skip(f"{REAL / name} is not here: public meshes are kept beside the project, not in it")
    assert words in said(capsys, str(REAL / name))


def test_a_scan_is_put_into_a_corner_file_and_nothing_else_in_it_moves(capsys, tmp_path):
    corner = tmp_path / "corner.toml"
    before = (ROOT / "fixtures" / "corners" / "orchard-pickup-rear.toml").read_text(encoding="utf-8")
    corner.write_text(before, encoding="utf-8")
    words = [str(WELL), "--unit", "m", "--place", PLACE, "--into", str(corner), "--name", "left well"]
    assert 'its part "left well"' in said(capsys, *words)
    after = corner.read_text(encoding="utf-8")
    assert after.startswith(before.rstrip("\n"))
    assert tomllib.loads(after)["part"][-1]["file"] == str(WELL)
    import clearance

    assert "left well" in [part.name for part in clearance.load(corner).parts]
    assert "is taken by another part" in said(capsys, *words, code=2)
    assert corner.read_text(encoding="utf-8") == after


def test_a_scan_that_makes_no_corner_is_not_written(capsys, tmp_path):
    corner = tmp_path / "corner.toml"
    corner.write_text('corner = "rear-left"\n', encoding="utf-8")
    wrong = said(capsys, str(WELL), "--unit", "m", "--place", PLACE, "--into", str(corner), code=2)
    assert "the section [tire] is missing" in wrong
    assert corner.read_text(encoding="utf-8") == 'corner = "rear-left"\n'
    assert "--into needs --place" in said(capsys, str(WELL), "--unit", "m", "--into", str(corner), code=2)
