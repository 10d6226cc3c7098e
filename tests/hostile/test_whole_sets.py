"""A set of files appears whole or not at all, and a folder never shows what no longer holds."""

from __future__ import annotations

import hashlib
import json
import os
import subprocess
from pathlib import Path

import pytest
from clearance_cli.out import LIST, write_all, write_places
from few import FEW, moved
from hostile.commands import CORNERS, clearance, command, patience

from clearance.errors import OutputError

OLD = {"a.txt": b"old a", "b.txt": b"old b", "c.txt": b"old c"}
NEW = {"a.txt": b"new a", "b.txt": b"new b", "d.txt": b"new d"}


def shown(folder: Path) -> dict[str, bytes]:
    """What stands in a folder, its list of files apart."""
    return {p.name: p.read_bytes() for p in sorted(folder.iterdir()) if p.is_file() and p.name != LIST}


def listed(folder: Path) -> dict[str, dict[str, str]]:
    found: dict[str, dict[str, str]] = json.loads((folder / LIST).read_text())["runs"]
    return found


def test_a_folder_in_the_way_changes_nothing(tmp_path):
    """Four of seven files had already been replaced when the fifth met a folder."""
    write_all(tmp_path, OLD, of="check")
    (tmp_path / "d.txt").mkdir()
    before = shown(tmp_path)
    with pytest.raises(OutputError, match="a folder stands where a file"):
        write_all(tmp_path, NEW, of="check")
    assert shown(tmp_path) == before
    assert not list(tmp_path.glob("*.part"))


@pytest.mark.parametrize("step", range(1, 7))
def test_a_fault_at_any_step_changes_nothing(step, tmp_path, monkeypatch):
    """The disk refuses the first, second, third ... change of place; what was changed is changed back."""
    write_all(tmp_path, OLD, of="check")
    before, sums = shown(tmp_path), listed(tmp_path)
    count = 0
    real = os.replace

    def refusing(old, new):
        nonlocal count
        count += 1
        if count == step:
            raise OSError(5, "a fault")
        real(old, new)

    monkeypatch.setattr(os, "replace", refusing)
    # a, b and d change over, the list, and c is taken away: five changes
    if step <= 5:
        with pytest.raises(OutputError, match="the disk reports a fault"):
            write_all(tmp_path, NEW, of="check")
        assert shown(tmp_path) == before
        assert listed(tmp_path) == sums
    else:
        write_all(tmp_path, NEW, of="check")
        assert shown(tmp_path) == NEW
    assert not list(tmp_path.glob(".*.part"))


def test_places_in_several_folders_are_one_set(tmp_path):
    (tmp_path / "one").mkdir()
    (tmp_path / "two").mkdir()
    (tmp_path / "one" / "x").write_bytes(b"old")
    (tmp_path / "two" / "y").mkdir()
    with pytest.raises(OutputError):
        write_places({tmp_path / "one" / "x": b"new", tmp_path / "two" / "y": b"new"})
    assert (tmp_path / "one" / "x").read_bytes() == b"old"
    write_places({tmp_path / "one" / "x": b"new", tmp_path / "three" / "y": b"new"})
    assert (tmp_path / "one" / "x").read_bytes() == b"new"
    assert (tmp_path / "three" / "y").read_bytes() == b"new"


def test_a_folder_that_was_made_for_nothing_is_gone(tmp_path):
    (tmp_path / "there").write_bytes(b"")
    with pytest.raises(OutputError):
        write_all(tmp_path / "there" / "below", NEW)
    with pytest.raises(OutputError):
        write_all(tmp_path / "new" / "deep", {"../out.txt": b"x"})
    assert sorted(p.name for p in tmp_path.iterdir()) == ["there"]


@pytest.mark.parametrize("name", ["", ".", "..", "a/b", "/etc/x", "a\0b", "x" * 300, "a/"])
def test_no_name_leads_out_of_the_folder(name, tmp_path):
    with pytest.raises(OutputError):
        write_all(tmp_path / "f", {name: b"x"})
    assert list(tmp_path.iterdir()) == []


def test_what_no_longer_holds_is_taken_away_and_said(tmp_path, capsys):
    write_all(tmp_path, OLD, of="relief")
    (tmp_path / "mine.txt").write_bytes(b"mine")
    write_all(tmp_path, {"a.txt": b"new a"}, of="relief")
    assert shown(tmp_path) == {"a.txt": b"new a", "mine.txt": b"mine"}
    assert "taken away" in capsys.readouterr().err


def test_what_was_edited_since_is_left_and_named(tmp_path, capsys):
    write_all(tmp_path, OLD, of="relief")
    (tmp_path / "b.txt").write_bytes(b"old b, and a remark of mine")
    write_all(tmp_path, {"a.txt": b"new a"}, of="relief")
    assert set(shown(tmp_path)) == {"a.txt", "b.txt"}
    assert "b.txt" in capsys.readouterr().err


def test_another_verbs_files_are_not_ours(tmp_path):
    write_all(tmp_path, {"envelope.stl": b"1", "report.html": b"2"}, of="check")
    write_all(tmp_path, {"envelope.stl": b"3", "tub.dxf": b"4"}, of="envelope")
    assert set(shown(tmp_path)) == {"envelope.stl", "report.html", "tub.dxf"}
    # the envelope is the other verb's now, and the next check does not take it away
    write_all(tmp_path, {"report.html": b"5"}, of="check")
    assert set(shown(tmp_path)) == {"envelope.stl", "report.html", "tub.dxf"}


@pytest.mark.parametrize(
    "found",
    [
        "", "{", "[]", "null", '{"format": "clearance-files/1"}', '{"format": "clearance-files/1", "runs": []}',
        '{"format": "clearance-files/1", "runs": {"check": ["../mine.txt"]}}',
        '{"format": "clearance-files/1", "runs": {"check": {"../mine.txt": "SUM", "x": 3, "/mine.txt": "SUM"}}}',
        '{"format": "clearance-files/1", "runs": {"check": {".clearance-files.json": "SUM", ".": "SUM"}}}',
        '{"format": "other/1", "runs": {"check": {"mine.txt": "SUM"}}}', "[" * 9000, "\udcff", "9" * 9000,
    ],
)  # fmt: skip
def test_a_list_that_somebody_else_wrote_takes_nothing_away(found, tmp_path):
    folder = tmp_path / "out"
    folder.mkdir()
    mine = tmp_path / "mine.txt"
    mine.write_bytes(b"mine")
    (folder / "mine.txt").write_bytes(b"mine")
    text = found.replace("SUM", hashlib.sha256(b"mine").hexdigest())
    (folder / LIST).write_bytes(text.encode("utf-8", "surrogateescape"))
    write_all(folder, {"a.txt": b"new"}, of="check")
    assert mine.read_bytes() == b"mine"
    assert (folder / "mine.txt").read_bytes() == b"mine"
    assert list(listed(folder)["check"]) == ["a.txt"]


def test_a_list_that_is_a_pipe_or_a_folder_holds_nothing_up(tmp_path):
    (tmp_path / LIST).mkdir()
    with pytest.raises(OutputError):
        write_all(tmp_path, {"a.txt": b"new"}, of="check")
    assert [p.name for p in tmp_path.iterdir()] == [LIST]


def test_what_a_killed_run_left_is_taken_away_by_the_next(tmp_path):
    left = tmp_path / ".clearance-abc.part"
    left.mkdir()
    (left / "envelope.stl").write_bytes(b"half")
    write_all(tmp_path, NEW, of="check")
    assert shown(tmp_path) == NEW
    assert not left.exists()


@pytest.mark.skipif(os.name != "posix", reason="limits of a process")
@pytest.mark.parametrize(
    ("words", "limit"),
    [
        (["measure"], 0),
        (["measure"], 10_000),
        pytest.param(
            ["check", str(CORNERS / "orchard-pickup-rear.toml"), "--slack", "5 mm"], 100_000, marks=pytest.mark.slow
        ),
    ],
)
def test_a_disk_that_takes_no_more_leaves_what_was_there(words, limit, tmp_path):
    """A limit on the size of a file is met as a full disk is: in the middle of writing one."""
    import resource

    out = tmp_path / "out"
    write_all(out, {"report.html": b"old"}, of="check")
    before = shown(out)
    done = subprocess.run(
        [*command(), *words, "--out", str(out)],
        preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (limit, limit)),
        capture_output=True,
        timeout=20 * patience(),
        check=False,
    )
    assert done.returncode == 2
    assert b"cannot write here" in done.stderr
    assert b"Traceback" not in done.stderr
    assert shown(out) == before


@pytest.mark.skipif(not Path("/proc/self").exists(), reason="a folder that nobody may write into, not even root")
@pytest.mark.parametrize("place", ["/proc/clearance", "/dev/null/out", "/proc/version"])
def test_where_nothing_can_be_written_is_one_message(place):
    """Said before anything is measured: nobody waits for an answer that has no place."""
    said = clearance("check", CORNERS / "orchard-pickup-rear.toml", "--out", place, "--slack", "5 mm")
    assert said.code == 2
    assert b"cannot write here" in said.err
    assert len(said.err.splitlines()) == 1


@pytest.mark.parametrize(
    "words",
    [
        ["check", "--csv", "FILE"], ["check", "--certificate", "FILE"], ["window", "--picture", "FILE.svg"],
        ["motion", "--picture", "FILE.svg"], ["relief", "--out", "FILE"], ["gauge", "--out", "FILE"],
        ["envelope", "--out", "FILE"], ["draw", "--out", "FILE"], ["order", "--out", "FILE"],
        ["inspect", "--sheet", "FILE"],
    ],
)  # fmt: skip
def test_a_place_is_refused_before_the_file_is_read(words, tmp_path):
    """The corner file is not there at all, and it is the place that is spoken of."""
    (tmp_path / "file").write_bytes(b"")
    option = [word.replace("FILE", str(tmp_path / "file" / "below")) for word in words[1:]]
    said = clearance(words[0], tmp_path / "no.toml", *option)
    assert said.code == 2
    assert b"cannot write here" in said.err
    assert [p.name for p in tmp_path.iterdir()] == ["file"]


def test_a_picture_is_not_written_over_a_device(tmp_path):
    said = clearance("motion", CORNERS / "heron-roadster-front.toml", "--csv", "/dev/null")
    assert said.code == 2
    assert b"device" in said.err
    assert Path("/dev/null").is_char_device()


def test_two_at_once_leave_the_whole_set_of_one(tmp_path):
    """Eight runs of two kinds into one folder; in the end every file is of the same run as the list."""
    out = tmp_path / "out"
    code = (
        "import sys; from pathlib import Path; from clearance_cli.out import write_all\n"
        "for turn in range(40):\n"
        "    write_all(Path(sys.argv[1]), {f'{n}.txt': (sys.argv[2] * 9000 + str(turn)).encode() for n in"
        " range(int(sys.argv[3]))}, of='check')"
    )
    import sys

    runs = [
        subprocess.Popen([sys.executable, "-c", code, str(out), letter, str(count)], stderr=subprocess.PIPE)
        for letter, count in zip("abcd", (3, 5, 7, 9), strict=True)
    ]
    for run in runs:
        _, err = run.communicate(timeout=20 * patience())
        assert run.returncode == 0, err
    sums = listed(out)["check"]
    assert {name: hashlib.sha256(content).hexdigest() for name, content in shown(out).items()} == sums
    assert len(set(shown(out).values())) == 1
    assert not list(out.glob(".*.part"))


@pytest.mark.slow
@pytest.mark.parametrize("wait", [0.3, 0.9, 1.4, 2.0])
def test_a_run_that_is_killed_outright_leaves_whole_files(wait, tmp_path):
    """SIGKILL cannot be heeded; what is not whole lies in a folder of its own, which the next run takes away."""
    import time

    out = tmp_path / "out"
    words = [*command(), "check", str(CORNERS / "heron-roadster-front.toml"), "--out", str(out), "--slack", "5 mm"]
    started = subprocess.Popen(words, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    time.sleep(wait)
    started.kill()
    started.wait()
    if out.exists():
        assert set(shown(out)) in (set(), {
            "envelope-required.stl", "envelope.stl", "findings.json", "report.html", "scene.glb", "zones.glb",
            "zones.stl",
        })  # fmt: skip


def test_relief_says_nothing_has_to_move_beside_no_proposed_tub(tmp_path):
    """The tub of an earlier corner lay beside "nothing has to move"."""
    folder = tmp_path
    good, bad = folder / "few.toml", folder / "tight.toml"
    good.write_text(FEW)
    bad.write_text(moved(FEW, "5 1/2 in"))
    assert clearance("relief", bad, "--out", folder / "out", "--slack", "5 mm", seconds=60).code == 1
    assert (folder / "out" / "proposed-tub.stl").exists()
    said = clearance("relief", good, "--out", folder / "out", seconds=60)
    assert said.code == 0
    assert not (folder / "out" / "proposed-tub.stl").exists()
    assert b"proposed-tub.stl" in said.err


@pytest.mark.slow
def test_fewer_templates_leave_none_of_the_old(tmp_path):
    out = tmp_path / "out"
    corner = CORNERS / "orchard-pickup-rear.toml"
    assert clearance("envelope", corner, "--out", out, "--slack", "5 mm", "--every", "60 mm", seconds=60).code == 0
    many = {p.name for p in out.iterdir()}
    assert clearance("envelope", corner, "--out", out, "--slack", "5 mm", "--every", "150 mm", seconds=60).code == 0
    few = {p.name for p in out.iterdir()}
    assert len(few) < len(many)
    assert {p for p in few if p.startswith("station")} < {p for p in many if p.startswith("station")} | few
    assert few == set(listed(out)["envelope"]) | {LIST}
