"""The answers' verbs as a user runs them: pages, JSON, files, exit codes, and one clear message for bad input."""

import json
from pathlib import Path

import pytest
from clearance_cli.main import run

CORNERS = Path(__file__).parents[2] / "fixtures" / "corners"
ORCHARD = CORNERS / "orchard-pickup-rear.toml"

WALLED = """
title = "Plum wagon, rear left"
corner = "rear-left"

[tire]
overall_diameter = "700 mm"
section_width = "230 mm"
tread_width = "180 mm"

[wheel]
diameter = "15 in"
width = "7 in"
offset = "0 mm"
bolt_circle = "5 x 4.5 in"
center_bore = "70 mm"

[suspension]
kind = "straight"
bump = "90 mm"
droop = "60 mm"

[[part]]
name = "inner wall"
kind = "wall"
inboard = "{inboard} mm"
required = "20 mm"

[[part]]
name = "lip"
kind = "lip"
radius = "470 mm"
outboard = "160 mm"
return_depth = "12 mm"
required = "10 mm"
"""


def corner(tmp_path, inboard=160, more="", name="corner.toml"):
    file = tmp_path / name
    file.write_text(WALLED.format(inboard=inboard) + more, encoding="utf-8")
    return str(file)


def answer(capsys, *arguments):
    code = run([*arguments, "--json"])
    return code, json.loads(capsys.readouterr().out)


def test_window_says_inside_and_draws_the_picture(tmp_path, capsys):
    file = corner(tmp_path)
    picture = tmp_path / "window.svg"
    code, found = answer(capsys, "window", file, "--width", "7 in", "--picture", str(picture))
    assert code == 0
    # inner wall 160, keep 20, half section 115: offset 25 at most
    most = found["widths"][0]["stretches"][0]["most"]
    assert most["offset"] == pytest.approx(25.0, abs=0.16)
    assert most["binds"]["part"] == "inner wall"
    assert found["given"]["outside_by"] == pytest.approx(-25.0, abs=0.16)
    assert picture.read_text().startswith("<svg")


def test_a_window_end_put_back_into_check_clears_and_past_it_does_not(tmp_path, capsys):
    file = Path(corner(tmp_path))
    _, found = answer(capsys, "window", str(file), "--width", "7 in")
    end = found["widths"][0]["stretches"][0]["most"]["offset"]
    text = file.read_text()
    file.write_text(text.replace('offset = "0 mm"', f'offset = "{end} mm"'))
    code, checked = answer(capsys, "check", str(file))
    assert (code, checked["verdict"]) == (0, "clears")
    file.write_text(text.replace('offset = "0 mm"', f'offset = "{end + 0.2:.1f} mm"'))
    code, checked = answer(capsys, "check", str(file))
    assert (code, checked["verdict"]) == (1, "tight")


def test_window_is_outside_with_exit_code_1(tmp_path, capsys):
    assert run(["window", corner(tmp_path, inboard=130), "--width", "7 in"]) == 1
    assert "outside by 5." in capsys.readouterr().out


def test_largest_prints_a_table_and_honours_a_list(tmp_path, capsys):
    sizes = tmp_path / "sizes.csv"
    sizes.write_text("size\n205/65R15\n235/75R15\n")
    code, found = answer(capsys, "largest", corner(tmp_path), "--sizes", str(sizes), "--enough", "2")
    assert code == 0
    assert [fit["size"] for fit in found["fits"]][-1] == "205/65R15"
    assert run(["largest", corner(tmp_path), "--sizes", str(sizes), "--by", "beauty"]) == 2
    assert "diameter, width, target" in capsys.readouterr().err


def test_largest_says_which_load_index_the_corner_needs(tmp_path, capsys):
    """ISO 4000-1 (from memory): 94 carries 670 kg and 95 carries 690, so 680 kg needs 95."""
    sizes = tmp_path / "sizes.csv"
    sizes.write_text("size\n205/65R15\n")
    file = corner(tmp_path, more='\n[load]\ncorner = "680 kg"\n')
    assert run(["largest", file, "--sizes", str(sizes)]) == 0
    assert "does not carry [load] corner (95 or more)" in capsys.readouterr().out
    _, found = answer(capsys, "largest", file, "--sizes", str(sizes))
    assert found["load_index_needed"] == 95
    assert run(["largest", corner(tmp_path, more='\n[load]\ncorner = "6000 kg"\n'), "--sizes", str(sizes)]) == 2
    assert "no load index of the table carries 6000 kg" in capsys.readouterr().err


def test_relief_moves_the_wall_and_writes_the_tub(tmp_path, capsys):
    out = tmp_path / "out"
    code, found = answer(
        capsys, "relief", corner(tmp_path, inboard=130), "--out", str(out), "--slack", "4 mm", "--map", "inner wall"
    )
    assert code == 1
    (part,) = found["parts"]
    assert part["moves"][0]["way"] == "inboard"
    assert part["moves"][0]["distance"] == pytest.approx(5.0, abs=0.16)
    assert {"proposed-tub.stl", "relief-inner-wall.ply", "relief-inner-wall.glb"} <= set(found["files"])
    assert sorted(p.name for p in out.iterdir() if not p.name.startswith(".")) == found["files"]


def test_the_proposed_tub_is_watertight_and_keeps_the_required_gap(tmp_path, capsys):
    trimesh = pytest.importorskip("trimesh")
    out = tmp_path / "out"
    run(["relief", corner(tmp_path, inboard=130), "--out", str(out), "--slack", "4 mm"])
    capsys.readouterr()
    tub = trimesh.load(out / "proposed-tub.stl")
    assert tub.is_watertight
    # the tire is 115 out on either side and must keep 20; the surface may lie up to the slack further
    assert tub.bounds[0][1] <= -135.0
    assert tub.bounds[0][1] >= -135.0 - 4.0 - 0.5


def test_least_change_offers_a_spacer_bought_in_threes(tmp_path, capsys):
    code, found = answer(capsys, "least-change", corner(tmp_path, inboard=130))
    assert code == 1
    spacer = next(c for c in found["changes"] if c["change"] == "spacer")
    assert spacer["exact"] == pytest.approx(5.0, abs=0.16)
    assert spacer["bought"] == 6.0
    assert "track" in spacer["cost"]
    assert run(["least-change", corner(tmp_path)]) == 0
    assert "nothing has to change" in capsys.readouterr().out


def test_compare_two_files_and_left_against_right(tmp_path, capsys):
    tape = '\n[tape]\nhub_to_spring = "{} mm"\nhub_to_lip = "{} mm"\n'
    left = corner(tmp_path, more=tape.format(155, 149), name="left.toml")
    right_text = Path(corner(tmp_path, more=tape.format(143, 161), name="right.toml"))
    right_text.write_text(right_text.read_text().replace("rear-left", "rear-right").replace("rear left", "rear right"))
    picture = tmp_path / "both.svg"
    code, found = answer(capsys, "compare", left, str(right_text), "--picture", str(picture))
    assert code == 0
    assert "axle stands 6.0 mm" in found["left_right"]["verdict"]
    assert all(abs(part["change"]) < 0.1 for part in found["parts"])
    assert picture.read_text().startswith("<svg")


def test_compare_reads_findings(tmp_path, capsys):
    file = corner(tmp_path)
    run(["check", file, "--json"])
    findings = tmp_path / "before.json"
    findings.write_text(capsys.readouterr().out)
    code, found = answer(capsys, "compare", str(findings), corner(tmp_path, inboard=150, name="nearer.toml"))
    assert code == 0
    wall = next(p for p in found["parts"] if p["part"] == "inner wall")
    assert wall["change"] == pytest.approx(-10.0, abs=0.11)
    broken = tmp_path / "broken.json"
    broken.write_text("{")
    assert run(["compare", str(broken), file]) == 2
    assert "not JSON" in capsys.readouterr().err


def test_budget_says_how_sure_and_is_the_same_twice(tmp_path, capsys):
    file = corner(tmp_path, inboard=137)
    code, found = answer(capsys, "budget", file, "--rechecks", "1")
    assert code == 1
    assert 0.5 < found["confidence"] < 0.95
    assert answer(capsys, "budget", file, "--rechecks", "1")[1] == found
    run(["budget", file, "--rechecks", "0"])
    assert "% confidence" in capsys.readouterr().out


def test_other_answers_every_section_that_is_there(tmp_path, capsys):
    more = """
[load_states]
laden = "-35 mm"
[chains]
class = "S"
[spare_well]
diameter = "720 mm"
depth = "24 cm"
[duals]
spacing = "292 mm"
[coverage]
ahead = "30 deg"
behind = "50 deg"
"""
    code, found = answer(capsys, "other", corner(tmp_path, more=more))
    assert code in (0, 1)
    assert found["load_states"][0]["travel_left"] == 55.0
    assert {room["name"] for room in found["rooms"]} >= {"rim of the well", "lid", "between the tires, loaded"}
    # the lip's edge stands 160 out and the tire 115
    assert found["coverage"]["least"] == pytest.approx(45.0, abs=0.1)
    assert run(["other", corner(tmp_path, more=more)]) == code
    assert "Standing at each load" in capsys.readouterr().out
    assert run(["other", corner(tmp_path)]) == 2
    assert "[load_states]" in capsys.readouterr().err


def test_order_card_says_how_each_number_is_measured(tmp_path, capsys):
    more = '\n[order]\nthread = "M12x1.5"\nlug_seat = "60 deg cone"\nstud_length = "38 mm"\nseat_depth = "29 mm"\n'
    code, found = answer(capsys, "order", corner(tmp_path, more=more))
    assert code == 0
    lines = {line["item"]: line for line in found["lines"]}
    assert "straight edge" in lines["backspace"]["how"]
    assert lines["backspace"]["value"].startswith("4.000 in")
    # 38 - 29 leaves 9 mm of an M12, which needs 12
    assert "TOO SHORT" in lines["thread left"]["how"]
    assert "108.71 mm" in lines["bolt circle"]["how"]


MEASURED = """
[[wheel]]
name = "left"
width = "178 mm"
straight_edge = "{edge}"
bead_seat_circumference = "1194.5 mm"
holes = 5
hole_reading = "115.7 mm"
hole_diameter = "14 mm"
hole_from = "far edge"
center_bore = "70 mm"
"""


@pytest.mark.parametrize(
    ("edge", "code", "finding", "verdict"),
    [("4 in", 3, "within", "keep"), ("4 1/4 in", 1, "outside", "return"), ("4 1/16 in", 3, "open", "read again")],
)
def test_inspect_judges_a_measured_file(tmp_path, capsys, edge, code, finding, verdict):
    """Backspace 4 in, allowed 1.5 mm, read to 0.8: 1/16 in more is 1.6 mm, past what it may differ and not surely."""
    file = tmp_path / "boxes.toml"
    file.write_text(MEASURED.format(edge=edge))
    got, found = answer(capsys, "inspect", corner(tmp_path), "--measured", str(file))
    assert got == code
    assert next(c for c in found["checks"] if c["item"] == "backspace")["finding"] == finding
    assert [one["verdict"] for one in found["wheels"]] == [verdict], found["wheels"]
    # one wheel of four: the other three are asked for, whatever becomes of this one
    assert found["lacking"] == 3


def test_inspect_reads_csv_and_the_command_line(tmp_path, capsys):
    file = tmp_path / "boxes.csv"
    file.write_text("name, straight_edge, width\nleft, 4 in, 178 mm\nright, 4 in, 178 mm\n")
    _, found = answer(capsys, "inspect", corner(tmp_path), "--measured", str(file), "--wheel", "name=spare,width=7 in")
    assert {c["wheel"] for c in found["checks"]} >= {"left", "right", "spare"}


def test_the_blank_is_written_filled_and_read_back(tmp_path, capsys):
    """Two wheels of four filled in inches; the third and fourth rows stay empty, and are not told."""
    blank, sheet = tmp_path / "boxes.csv", tmp_path / "sheet.pdf"
    code, said = answer(capsys, "inspect", str(ORCHARD), "--units", "in", "--blank", str(blank), "--sheet", str(sheet))
    assert (code, said["lacking"], said["files"]) == (0, 4, [str(sheet), str(blank)])
    assert sheet.read_bytes().startswith(b"%PDF")
    heading, how, *rows = blank.read_text(encoding="utf-8").splitlines()
    letters = ["F", "F1", "G", "G1", "E1", "E2", "H", "H1", "H2", "H3", "H4", "H5", "TT", "TC"]
    assert [cell.strip('"').partition(" ")[0] for cell in heading.split(",") if cell[0] != " "][1:] == letters
    rows[0] = "wheel 1,7,,3 3/4,,47 1/32,,5,108.7 mm,83 mm,,,,1/32,0.1 mm"
    rows[1] = "wheel 2,7,,4 3/4,,47 1/32,,5,108.7 mm,83 mm,,,,,"
    blank.write_text("\n".join([heading, how, *rows]) + "\n", encoding="utf-8")
    code, found = answer(capsys, "inspect", str(ORCHARD), "--measured", str(blank))
    assert [one["verdict"] for one in found["wheels"]] == ["keep", "return", "not told", "not told"], found["wheels"]
    assert code == 1


def test_half_a_bolt_circle_in_the_blank_is_one_message(tmp_path, capsys):
    blank = tmp_path / "boxes.csv"
    blank.write_text("wheel,H holes,H1 hole to hole (mm)\nleft,5,\n", encoding="utf-8")
    assert run(["inspect", str(ORCHARD), "--measured", str(blank)]) == 2
    message = capsys.readouterr().err
    assert "boxes.csv:2 (left)" in message
    assert "H1, from hole to hole, is empty" in " ".join(message.split())


@pytest.mark.parametrize(
    ("content", "words"),
    [
        ("[[wheel]]\nname = 'a'\nwidht = '7 in'\n", "Did you mean 'width'"),
        ("[[wheel]]\nname = 'a'\nwidth = '7'\n", "no unit"),
        ("[[wheel]]\nwidth = '7 in'\n", "name is missing"),
        ("[[wheel]]\nname = 'a'\nholes = 5\n", "hole_reading is missing"),
        ("wheel = 3\n", "list of tables"),
        ("x = [", "not TOML"),
        ("[tire]\n", "does not belong"),
    ],
)
def test_inspect_refuses_what_it_cannot_read(tmp_path, capsys, content, words):
    file = tmp_path / "boxes.toml"
    file.write_text(content)
    assert run(["inspect", corner(tmp_path), "--measured", str(file)]) == 2
    message = capsys.readouterr().err
    assert words in message
    assert "Traceback" not in message


def test_a_wrong_key_in_limits_is_refused_with_its_line(tmp_path, capsys):
    assert run(["least-change", corner(tmp_path, more='\n[limits]\nspacr = "3 mm"\n')]) == 2
    message = capsys.readouterr().err
    assert "limits.spacr" in message
    assert "spacer" in message


@pytest.mark.parametrize("verb", ["window", "largest", "relief", "least-change", "budget", "other", "order", "inspect"])
def test_a_file_that_is_not_there_is_one_message(verb, tmp_path, capsys):
    assert run([verb, str(tmp_path / "nothing.toml")]) == 2
    assert "Traceback" not in capsys.readouterr().err


def test_progress_never_reaches_stdout(capsys):
    run(["order", str(ORCHARD), "--json"])
    json.loads(capsys.readouterr().out)
