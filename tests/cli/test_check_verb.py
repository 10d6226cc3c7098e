"""`clearance check` as a user runs it: table, exit codes, files whole or not at all."""

from __future__ import annotations

import contextlib
import errno
import io
import json
import os
from functools import cache
from pathlib import Path

import pytest
from clearance_cli.main import run
from few import FEW, SHIPPED, moved, without

ROOT = Path(__file__).parents[2]
CORNERS = ROOT / "fixtures" / "corners"
CLEAR, TIGHT, HIT = (
    CORNERS / f"{n}.toml" for n in ("orchard-pickup-rear", "scanned-well-rear", "heron-roadster-front")
)


def said(words, capsys):
    code = run([str(w) for w in words])
    printed = capsys.readouterr()
    return code, printed.out, printed.err


@cache
def told(*words):
    """The same of a command that writes no file, run once for all that is asked of it."""
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        code = run([str(w) for w in words])
    return code, out.getvalue(), err.getvalue()


@pytest.mark.parametrize(
    ("file", "code", "first"), [(CLEAR, 0, "It clears"), (TIGHT, 1, "It is tight"), (HIT, 1, "It hits")]
)
def test_the_three_answers(file, code, first):
    got, out, _ = told("check", file)
    assert got == code
    assert out.strip().splitlines()[-1].startswith(first)


def test_every_part_is_told_with_gap_requirement_position_and_place():
    _, out, _ = told("check", HIT)
    for word in ("well inner wall", "splash plate", "sway bar", "mm (", "o'clock", "deg left", "behind the axle"):
        assert word in out


def test_a_part_on_the_knuckle_is_as_close_at_every_position():
    _, out, _ = told("check", HIT)
    row = next(line for line in out.splitlines() if " caliper " in line)
    assert row.endswith("  every position")
    assert out.count("every position") == 1


def test_who_says_what_must_be_kept_stands_under_the_gaps():
    """It decides the verdict: given in the file, or common practice by the kind of part."""
    _, out, _ = told("check", CLEAR)
    line = next(line for line in out.splitlines() if line.startswith("  Must keep: "))
    assert "given in the corner file for tailpipe;" in line
    assert "common practice for the others" in line
    for kept in ("25.0 mm (1 in) to a wall", "13.0 mm (1/2 in) to a lip", "6.0 mm (1/4 in) to what rides on the axle"):
        assert kept in line


def test_what_is_odd_in_the_file_stands_before_the_gaps(tmp_path, capsys):
    """A bump of 3.5 mm for 3.5 in: said with its line, at the top of every answer and first of the warnings."""
    file = tmp_path / "careless.toml"
    file.write_text(CLEAR.read_text(encoding="utf-8").replace('"3 1/2 in"', '"3.5 mm"', 1), encoding="utf-8")
    _, out, _ = said(["check", file], capsys)
    at = out.index("Note: line 24, suspension.bump: a wheel's travel of 3.5 mm is unusual: 10 mm to 250 mm is usual.")
    assert at < out.index("must keep")
    _, out, _ = said(["check", file, "--json"], capsys)
    assert json.loads(out)["warnings"][0].startswith("line 24, suspension.bump: ")


@pytest.mark.parametrize(
    "verb", ["window", "largest", "relief", "least-change", "budget", "other", "order", "motion", "compare"]
)
def test_what_is_odd_in_the_file_stands_at_the_head_of_every_other_answer(verb, tmp_path, capsys):
    file = tmp_path / "careless.toml"
    text = CLEAR.read_text(encoding="utf-8")
    # one part and one rim: the answers themselves are tried elsewhere
    first, second = (text.index("[[part]]", at) for at in (0, text.index("[[part]]") + 1))
    text = text[:second] + '[limits]\nrim_widths = ["7 in"]\n[chains]\nclass = "S"\n'
    assert first < second
    file.write_text(text.replace('"3 1/2 in"', '"3.5 mm"', 1), encoding="utf-8")
    words = [verb, file, *([file] if verb == "compare" else [])]
    if verb == "largest":
        sizes = tmp_path / "sizes.csv"
        sizes.write_text("size\n235/75R15\n")
        words += ["--sizes", sizes]
    _, out, _ = said(words, capsys)
    at = out.index("line 24, suspension.bump: a wheel's travel of 3.5 mm is unusual")
    # before the wheel's own note, which itself stands before the answer
    assert at < out.index("Measure it with calipers")
    assert len(out[:at].splitlines()) < 8
    _, out, _ = said([*words, "--json"], capsys)
    answer = json.loads(out)
    warnings = answer["before"]["warnings"] if verb == "compare" else answer["warnings"]
    assert warnings[0].startswith("line 24, suspension.bump: ")


def test_a_box_that_touches_as_the_car_stands_says_how_to_tell(tmp_path, capsys):
    """A rail 90 to 140 mm inboard; the tire's side wall stands 239 / 2 - 6.35 = 113 mm inboard of the hub's face."""
    file = tmp_path / "careless.toml"
    rail = (
        '[[part]]\nname = "rail"\nkind = "box"\n'
        'min = ["-100 mm", "-140 mm", "200 mm"]\nmax = ["100 mm", "-90 mm", "300 mm"]\n'
    )
    text = CLEAR.read_text(encoding="utf-8")
    file.write_text(text[: text.index("[[part]]")] + rail, encoding="utf-8")
    _, out, _ = said(["check", file], capsys)
    assert "Note: rail: already touching at ride height, by " in out
    assert "Either this tire and wheel really touch there, or one of its numbers has slipped" in out


def test_worst_comes_first():
    _, out, _ = told("check", HIT)
    order = [
        line.split()[0]
        for line in out.splitlines()
        if line.startswith("  ") and line.split()[0] in ("hits", "tight", "clears")
    ]
    assert order == sorted(order, key=["hits", "tight", "clears"].index)


def test_json_prints_only_json_and_follows_its_schema(capsys):
    code, out, _ = said(["check", HIT, "--json"], capsys)
    findings = json.loads(out)
    assert code == 1
    assert findings["format"] == "clearance-findings/1"
    assert findings["verdict"] == "hits"
    for part in findings["parts"]:
        assert part["gap"]["at_least"] <= part["gap"]["at_most"] + 1e-9


def test_the_holes_of_a_scan_stand_in_the_findings(capsys):
    """As `clearance scan` counts them in the same file."""
    _, out, _ = told("check", TIGHT, "--json")
    (notes,) = [" ".join(part["notes"]) for part in json.loads(out)["parts"] if part["kind"] == "mesh"]
    _, out, _ = said(["scan", CORNERS / "scanned-well.ply", "--json", "--unit", "mm"], capsys)
    holes = json.loads(out)["holes"]
    assert f"the scan has {holes or 'no'} hole" in notes


def test_a_tighter_tolerance_is_kept(capsys):
    _, out, _ = said(["check", CLEAR, "--json", "--tolerance", "0.01 mm"], capsys)
    for part in json.loads(out)["parts"]:
        assert part["gap"]["at_most"] - part["gap"]["at_least"] <= 0.0102


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (["check", "nowhere.toml"], "nowhere.toml"),
        (["check", str(CLEAR), "--tolerance", "0.05"], "no unit"),
        (["check", str(CLEAR), "--tolerance", "9 mm"], "choose from"),
        (["check", str(CLEAR), "--slack", "0.01 mm"], "choose from"),
        (["check", str(CLEAR), "--work", "3"], "--work"),
        (["check"], "Missing argument"),
        (["chek", str(CLEAR)], "chek"),
    ],
)
def test_a_wrong_word_gets_one_message_and_exit_code_2(words, message, capsys):
    code, out, err = said(words, capsys)
    assert code == 2
    assert out == ""
    assert message in err
    assert "Traceback" not in err


def test_an_exhausted_work_limit_is_undecided_or_says_what_it_has(capsys):
    code, out, _ = said(["check", CLEAR, "--json", "--work", "1000"], capsys)
    findings = json.loads(out)
    unfinished = [p for p in findings["parts"] if not p["finished"]]
    assert unfinished
    assert code in (0, 1, 3)
    for part in unfinished:
        low, high = part["gap"]["at_least"], part["gap"]["at_most"]
        if part["verdict"] == "clears":
            assert low >= part["required"]
        elif part["verdict"] == "tight":
            assert low >= 0
            assert high < part["required"]


@pytest.fixture(scope="module")
def hit(tmp_path_factory):
    """The folder of every file of a corner that hits, and what the terminal says."""
    folder, printed = tmp_path_factory.mktemp("hit") / "out", io.StringIO()
    file = folder.with_name("hits.toml")
    # the wall is hit, and the lip too
    nearer = moved(without(SHIPPED, "bed floor", "frame rail", "leaf pack", "shock", "tailpipe"), "4 in")
    for was, now in (('outboard = "5 5/8 in"', 'outboard = "4 1/2 in"'), ('radius = "17 in"', 'radius = "14 in"')):
        assert was in nearer
        nearer = nearer.replace(was, now, 1)
    file.write_text(nearer, encoding="utf-8")
    with contextlib.redirect_stdout(printed):
        assert run(["check", str(file), "--out", str(folder), "--slack", "5 mm"]) == 1
    return folder, printed.getvalue()


def test_all_files_are_written_and_named_in_the_findings(hit):
    folder, out = hit
    names = sorted(name for name in os.listdir(folder) if not name.startswith("."))
    expected = {
        "envelope-required.stl", "envelope.stl", "findings.json", "report.html", "scene.glb", "zones.glb", "zones.stl",
    }  # fmt: skip
    assert set(names) == expected
    assert json.loads((folder / "findings.json").read_text())["files"] == names
    assert "report.html" in out


def test_every_zone_is_told_in_findings_page_and_terminal(hit):
    """The same zones by number, area, deepest place and first touch."""
    folder, out = hit
    zones = json.loads((folder / "findings.json").read_text())["zones"]
    page = (folder / "report.html").read_text()
    assert len({zone["part"] for zone in zones}) == 2
    spoken = " ".join(out.split())
    for zone in zones:
        assert f"{zone['number']} {zone['part']}: {zone['area_mm2'] / 100:.1f} cm2" in spoken
        assert f"{zone['area_mm2'] / 100:.1f} cm²" in page
        for told in (zone["first"], zone["deepest"]):
            assert told["where"] in spoken


def test_no_zone_is_written_where_nothing_must_go(capsys, tmp_path):
    file = tmp_path / "few.toml"
    file.write_text(FEW, encoding="utf-8")
    assert said(["check", file, "--out", tmp_path / "out", "--slack", "5 mm"], capsys)[0] == 0
    assert json.loads((tmp_path / "out" / "findings.json").read_text())["zones"] == []
    assert not {"zones.stl", "zones.glb"} & set(os.listdir(tmp_path / "out"))


@pytest.mark.slow
def test_the_same_input_gives_the_same_bytes(capsys, tmp_path):
    for folder in ("one", "two"):
        said(["check", TIGHT, "--out", tmp_path / folder, "--slack", "2 mm"], capsys)
    for name in os.listdir(tmp_path / "one"):
        assert (tmp_path / "one" / name).read_bytes() == (tmp_path / "two" / name).read_bytes(), name


def test_a_full_disk_leaves_nothing_half_written(tmp_path, monkeypatch):
    from clearance_cli.out import write_all

    from clearance.errors import OutputError

    (tmp_path / "a.txt").write_bytes(b"old")
    real = os.fsync
    count = 0

    def filling(handle):
        nonlocal count
        count += 1
        if count == 2:
            raise OSError(errno.ENOSPC, "No space left on device")
        real(handle)

    monkeypatch.setattr(os, "fsync", filling)
    with pytest.raises(OutputError, match="the disk is full"):
        write_all(tmp_path, {"a.txt": b"new", "b.txt": b"new"})
    assert sorted(os.listdir(tmp_path)) == ["a.txt"]
    assert (tmp_path / "a.txt").read_bytes() == b"old"


def test_a_folder_that_cannot_be_written_is_one_message(capsys, tmp_path):
    blocked = tmp_path / "file"
    blocked.write_text("in the way")
    code, _, err = said(["check", CLEAR, "--out", blocked, "--slack", "5 mm"], capsys)
    assert code == 2
    assert "cannot write here" in err


def test_progress_goes_to_stderr_after_a_second(monkeypatch, capsys):
    import time

    from clearance_cli.out import Progress

    clock = iter([0.0, 0.5, 1.5, 1.6, 9.0])
    monkeypatch.setattr(time, "monotonic", lambda: next(clock))
    progress = Progress()
    progress(0, 3, "measuring")
    progress(1, 3, "measuring")
    progress(2, 3, "measuring")
    progress(3, 3, "measuring")
    printed = capsys.readouterr()
    assert printed.out == ""
    assert printed.err.splitlines() == ["measuring: 1 of 3, 2 s", "measuring: 3 of 3, 9 s"]
