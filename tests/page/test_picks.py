"""What is picked on a scan is lost neither with the server nor to another page."""

from __future__ import annotations

import json
import shlex
import shutil
import subprocess
from pathlib import Path

import pytest
from chromium import needs_chromium
from clearance_cli.page.folder import Folder
from clearance_cli.page.scanned import Scans
from clearance_cli.page.sitting import Hand
from page.conftest import COMMAND, FIXTURES, closed, served
from page.sight import Sight

import clearance

WELL = FIXTURES / "corners" / "scanned-well.ply"
KEPT = f"{WELL.name}.picks.json"
FACE = [[0.2945, 0.4373, -0.5081], [0.118, 0.4196, -0.5076], [0.1356, 0.2433, -0.5079], [0.3116, 0.2597, -0.5079]]
TRIANGLE = b"OFF\n6 2 0\n0 0 0\n900 0 0\n0 900 0\n5 5 5\n9 5 5\n5 9 5\n3 0 1 2\n3 3 4 5\n"
"""A large piece and a small one."""


def sat(folder: Path, name: str = "two.off") -> Scans:
    """A scan of this folder on the bench of a server of its own."""
    if not (folder / name).exists():
        (folder / name).write_bytes(TRIANGLE)
    scans = Scans(folder=Folder(place=folder), hand=Hand())
    does(scans, "open", name=name)
    return scans


def does(scans: Scans, what: str, **table: object):
    return scans.questions()[f"scan/{what}" if what else "scan"](table)


def all_said(scans: Scans) -> Scans:
    """One of everything that can be said of a scan."""
    does(scans, "pick", group="face", start=[50, 50, 900], way=[0, 0, -1])
    does(scans, "pick", group="up", start=[60, 50, 900], way=[0, 0, -1])
    does(scans, "brush", start=[6, 6, 900], way=[0, 0, -1])
    for key, text in (("unit", "mm"), ("ahead", "+x"), ("within", "1/8 in"), ("stray", "3 mm"), ("side", "right")):
        does(scans, "say", key=key, text=text)
    return scans


def test_everything_that_was_said_comes_back(tmp_path):
    before = all_said(sat(tmp_path))
    again = sat(tmp_path)
    assert again.picked == before.picked
    assert again.picked.points
    assert again.picked.gone
    # a step back begins anew, and one ahead has it again
    assert does(again, "undo")["points"]["face"] == []
    assert does(again, "redo")["points"]["face"] == [[50.0, 50.0, 0.0]]
    # an undone step is undone for who comes after, too
    does(again, "say", key="unit", text="cm")
    does(again, "undo")
    assert sat(tmp_path).picked == before.picked


def test_it_is_of_that_scan_and_of_no_other(tmp_path):
    all_said(sat(tmp_path))
    kept = (tmp_path / "two.off.picks.json").read_bytes()
    (tmp_path / "two.off").write_bytes(TRIANGLE.replace(b"900", b"901"))
    other = sat(tmp_path)
    assert other.picked == clearance.Picked()
    found = does(other, "say", key="unit", text="mm")
    assert "is not of this scan and was left" in found["notes"][-1]
    assert (tmp_path / "two.off.picks.json").read_bytes() == kept


WRONG = [
    b"",
    b"[]",
    b"{}",
    b"\xff",
    b"[" * 5000,
    b'{"format": "clearance-picks/2"}',
    ("said", "unit", "furlong"),
    ("said", "within", "lots"),
    ("said", "side", None),
    ("points", [["nowhere", [0, 0, 0]]]),
    ("points", [["hub", [0, 0]]]),
    ("points", [["hub", [0, 0, "1"]]]),
    ("points", [["hub", [0, 0, 1e300]]]),
    ("points", 7),
    ("gone", [[0, [0, 0, 0]]]),
    ("gone", [[-1, [0, 0, 0]]]),
    ("gone", [[2, [0, 0, 0]]]),
    ("gone", [["1", [0, 0, 0]]]),
]


@pytest.mark.parametrize("wrong", WRONG, ids=lambda one: repr(one)[:40])
def test_a_file_that_is_none_is_left_and_said(tmp_path, wrong):
    all_said(sat(tmp_path))
    place = tmp_path / "two.off.picks.json"
    if isinstance(wrong, bytes):
        place.write_bytes(wrong)
    else:
        table = json.loads(place.read_bytes())
        home, key = (table, wrong[0]) if len(wrong) == 2 else (table[wrong[0]], wrong[1])
        assert key in home
        home[key] = wrong[-1]
        place.write_text(json.dumps(table))
    there = place.read_bytes()
    scans = sat(tmp_path)
    assert scans.picked == clearance.Picked()
    assert "Take it away" in does(scans, "say", key="unit", text="mm")["notes"][-1]
    assert place.read_bytes() == there


def test_a_link_of_that_name_is_neither_followed_nor_written_through(tmp_path):
    bench, outside = tmp_path / "bench", tmp_path / "outside.json"
    bench.mkdir()
    outside.write_text("{}")
    (bench / "two.off.picks.json").symlink_to(outside)
    scans = all_said(sat(bench))
    assert "was left" in does(scans, "")["notes"][-1]
    assert outside.read_text() == "{}"


def test_two_servers_on_one_folder_do_not_write_over_one_another(tmp_path):
    one, two = sat(tmp_path), sat(tmp_path)
    does(one, "say", key="unit", text="mm")
    with pytest.raises(clearance.InputError, match="comes back"):
        does(two, "say", key="unit", text="cm")
    does(two, "open", name="two.off")
    assert two.picked.unit == "mm"
    does(two, "say", key="ahead", text="+x")
    assert sat(tmp_path).picked.said("unit", "mm").ahead == "+x"


def test_a_page_takes_back_and_lays_on_only_what_it_saw(tmp_path):
    scans = sat(tmp_path)
    old = does(scans, "say", key="unit", text="mm")
    does(scans, "pick", group="face", start=[50, 50, 900], way=[0, 0, -1])
    for what, table in (
        ("undo", {}),
        ("unpick", {"group": "face", "number": 0}),
        ("stands", {}),
        ("lay", {"name": "x"}),
    ):
        with pytest.raises(clearance.InputError, match="on another page"):
            does(scans, what, version=old["version"], **table)
    assert len(scans.picked.points) == 1
    (tmp_path / "three.off").write_bytes(TRIANGLE)
    does(scans, "open", name="three.off")
    with pytest.raises(clearance.InputError, match="another scan"):
        does(scans, "pick", scan=old["number"], group="face", start=[50, 50, 900], way=[0, 0, -1])


def test_on_the_real_server_both_pages_count_and_a_kill_costs_nothing(tmp_path):
    (tmp_path / "two.off").write_bytes(TRIANGLE)
    found = served(tmp_path)
    found.come_in()
    one = found.post("/ask/scan/open", {"name": "two.off"}).json
    seen = {"scan": one["number"], "version": one["version"]}
    click = {"group": "face", "scan": one["number"], "start": [50, 50, 900], "way": [0, 0, -1]}
    for k in range(3):
        assert found.post("/ask/scan/pick", {**click, "start": [50 + k, 50, 900]}).status == 200
    assert found.post("/ask/scan/undo", seen).status == 422
    facts = found.post("/ask/scan", {}).json
    assert len(facts["points"]["face"]) == 3
    found.process.kill()
    found.process.wait()
    closed(found)
    again = served(tmp_path)
    again.come_in()
    assert again.post("/ask/scan", {}).json["begun"] == ["two.off"]
    now = again.post("/ask/scan/open", {"name": "two.off"}).json
    assert (now["points"], now["picked"]) == (facts["points"], facts["picked"])
    closed(again)


CAR = """title = "Saltmarsh wagon"
[corner.rear-left]
file = "tern-coupe-rear.toml"
[corner.rear-right]
like = "rear-left"
"""


@pytest.mark.slow
def test_laid_into_a_corner_of_a_car_from_the_page_is_what_the_shown_command_writes(tmp_path):
    bench, terminal = tmp_path / "bench", tmp_path / "terminal"
    for folder in (bench, terminal):
        folder.mkdir()
        shutil.copy(WELL, folder)
        shutil.copy(FIXTURES / "corners" / "tern-coupe-rear.toml", folder)
        (folder / "wagon.toml").write_text(CAR)
    found = served(bench / "wagon.toml")
    found.come_in()
    found.post("/ask/scan/open", {"name": WELL.name})
    for point in FACE:
        picked(found, "face", point)
    for key, text in (("unit", "m"), ("up", "+y"), ("ahead", "+x"), ("face_outboard", "12 mm")):
        assert found.post("/ask/scan/say", {"key": key, "text": text}).status == 200
    facts = found.post("/ask/scan", {}).json
    assert (facts["corner"], facts["lacks"]) == ("rear left of wagon.toml", "")
    answer = found.post("/ask/scan/lay", {"name": "left well", "scan": facts["number"], "version": facts["version"]})
    assert answer.status == 200, answer.body
    assert answer.json["also"] == ["rear-right"]
    for _ in range(600):
        file = found.post("/ask/take", {"kind": "file"}).json["files"][0]
        text = found.ask(f"/take/file/wagon.toml?of={file['sum']}").body
        if b"left well" in text:
            break
    words = shlex.split(answer.json["command"])
    done = subprocess.run([*COMMAND, *words[1:]], cwd=terminal, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    assert (terminal / "wagon.toml").read_bytes() == text
    closed(found)


RAY = {"way": [0.0, 0.0, 1.0]}


def picked(found, group: str, at: list[float]) -> None:
    """A click along +z at this place, as a page sends it."""
    answer = found.post("/ask/scan/pick", {"group": group, "start": [at[0], at[1], -2.0], **RAY})
    assert answer.status == 200, answer.body


@pytest.mark.slow
@needs_chromium
@pytest.mark.filterwarnings("ignore::ResourceWarning")
def test_a_killed_server_and_two_tabs_cost_nothing(browser, tmp_path):
    """What one page picks, the other sees; what one is writing stays; and all of it is there after a kill."""
    shutil.copy(WELL, tmp_path)
    found = served(tmp_path)
    found.come_in()
    one = Sight(browser, found.link, "wide")
    two = Sight(browser, found.link, "phone")
    for sight in (one, two):
        sight.page.click("#ways [data-way=scan]")
    one.page.get_by_role("button", name=WELL.name).click()
    for sight in (one, two):
        sight.page.wait_for_selector("#solid[data-drawn]")
    one.page.check("#unit-m")
    two.page.wait_for_function("() => document.querySelector('#unit-m').checked")
    two.page.evaluate("document.querySelector('#picks details[data-name=hub]').open = true")
    two.page.fill("#say-within", "1 m")
    # half written on one page while the other picks
    picked(found, "face", FACE[0])
    for sight in (one, two):
        sight.page.wait_for_function("() => document.querySelectorAll('#over .mark.face').length === 1")
    assert two.page.input_value("#say-within") == "1 m"
    two.page.keyboard.type("m")
    two.page.keyboard.press("Tab")
    one.page.wait_for_function("() => document.querySelector('#say-within').value === '1 mm'")
    picked(found, "face", FACE[1])
    one.page.wait_for_function("() => document.querySelectorAll('#over .mark.face').length === 2")
    facts = found.post("/ask/scan", {}).json
    found.process.kill()
    found.process.wait()
    one.page.wait_for_selector("html[data-line=lost]")
    closed(found)
    again = served(tmp_path)
    one.page.goto(again.link)
    one.page.click("#ways [data-way=scan]")
    one.page.get_by_role("button", name="with what was picked on it").click()
    one.page.wait_for_function("() => document.querySelectorAll('#over .mark.face').length === 2")
    again.come_in()
    now = again.post("/ask/scan", {}).json
    assert (now["points"], now["picked"]) == (facts["points"], facts["picked"])
    assert now["picked"]["within"] == "1 mm"
    lost = [words for words in [*one.trouble, *two.trouble] if "WebSocket" not in words and "ERR_" not in words]
    assert lost == []
    one.context.close()
    two.context.close()
    closed(again)


@pytest.mark.parametrize("name", ["cloud.xyz", "cloud.csv", "a cloud.PTS"])
def test_points_alone_are_refused_with_the_command_that_places_them(tmp_path, name):
    scans = Scans(folder=Folder(place=tmp_path), hand=Hand())
    with pytest.raises(clearance.InputError, match=r"no surface to click on.*clearance scan ") as wrong:
        scans.handed_in(name, b"0 0 0\n1 0 0\n0 1 0\n")
    assert name in str(wrong.value)
    assert list(tmp_path.iterdir()) == []
