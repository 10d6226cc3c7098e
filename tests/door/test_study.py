"""Many cars: what cannot be read does not stop the rest, nothing is done twice, and the table is always the same."""

from __future__ import annotations

import csv
import io
import os
import resource
import time
from pathlib import Path

import numpy as np
import pytest
from hostile.commands import CORNERS

import clearance
from clearance.answers.candidates import Rack
from clearance.answers.changed import with_offset
from clearance.answers.checked import gaps_of
from clearance.beside import as_made
from clearance.defaults import TOLERANCE_MM
from clearance.door import study as door
from clearance.door import study_spread, study_work
from clearance.gap.found import ROUNDING_MM
from clearance.many.room import Room
from clearance.many.rows import NEAR_MM, lines_of
from clearance.many.spots import Laid
from clearance.many.sure import sure_of_laid

LIST = """tire,width,backspace
235/75R15,7 in,3 3/4 in
235/75R15,7 in,wide
255/70R15,8 in,4 1/4 in
235/75R15,12 in,5 in
"""


def small_corner(only: str = "lip") -> str:
    """The pickup's corner with its lip alone, or another part, which is quick."""
    text = (CORNERS / "orchard-pickup-rear.toml").read_text(encoding="utf-8")
    head, *parts = text.split("[[part]]")
    part = next(part for part in parts if f'name = "{only}"' in part)
    return f"{head}[[part]]{part}"


@pytest.fixture
def cars(tmp_path: Path) -> tuple[Path, Path]:
    folder = tmp_path / "cars"
    folder.mkdir()
    (folder / "one.toml").write_text(small_corner(), encoding="utf-8")
    (folder / "two.toml").write_text('[corner.rear-left]\nfile = "one.toml"\n', encoding="utf-8")
    (folder / "torn.toml").write_text("[tire", encoding="utf-8")
    os.mkfifo(folder / "pipe.toml")
    (folder / "letters.toml").write_bytes(b"\xff\xfe")
    (tmp_path / "list.csv").write_text(LIST, encoding="utf-8")
    return folder, tmp_path / "list.csv"


def files(found) -> dict[str, bytes]:
    return {name: one if isinstance(one, bytes) else b"".join(one()) for name, one in found.value.files.items()}


def test_what_cannot_be_read_is_listed_and_the_rest_is_answered(cars):
    found = clearance.study(*cars, processes=1)
    missing = {(one["file"], one["line"], one["column"]) for one in found.value.facts["not_answered"]}
    assert missing == {
        ("list.csv", 3, "backspace"), ("list.csv", 5, "width"), ("torn.toml", None, ""),
        ("pipe.toml", None, ""), ("letters.toml", None, ""),
    }  # fmt: skip
    rows = list(csv.DictReader(io.StringIO(files(found)["study.csv"].decode())))
    # a corner file that a car names is not asked about for itself
    assert [(row["car"], row["line"]) for row in rows] == [("two.toml", "2"), ("two.toml", "4")]
    car = clearance.load_car(cars[0] / "one.toml")
    place = Rack(car).put(study_work.read_list(cars[1])[0][0])["rear-left"]
    (plain,) = gaps_of(place.corner)
    assert float(rows[0]["at_least (mm)"]) <= plain.at_most_mm
    assert float(rows[0]["at_most (mm)"]) >= round(plain.at_least_mm, 3)
    assert rows[0]["verdict"] == plain.verdict


def test_nothing_is_done_twice_and_what_was_cut_short_is_done_again(cars, monkeypatch):
    kept: dict[str, str] = {}
    first = files(clearance.study(*cars, kept=kept, processes=1))
    asked = []
    monkeypatch.setattr("clearance.door.study_spread.work", lambda piece: asked.append(piece.file) or "")
    assert files(clearance.study(*cars, kept=kept, processes=1)) == first
    assert asked == []
    monkeypatch.setattr(
        "clearance.door.study_spread.work", lambda piece: asked.append(piece.file) or study_work.work(piece)
    )
    torn = max(kept, key=lambda name: len(kept[name]))
    kept[torn] = kept[torn][:-20]
    assert files(clearance.study(*cars, kept=kept, processes=1)) == first
    assert asked == ["two.toml"]


def test_a_changed_corner_file_is_asked_again(cars):
    before = [study_work.piece_of(name, cars[0] / name, cars[1], "x").key for name in door.car_files(cars[0])]
    changed = small_corner().replace("tape", "taped") + "\n# another remark\n"
    (cars[0] / "one.toml").write_text(changed, encoding="utf-8")
    after = [study_work.piece_of(name, cars[0] / name, cars[1], "x").key for name in door.car_files(cars[0])]
    # of letters, pipe, torn and two it is the last that names the corner file
    assert [one == other for one, other in zip(before, after, strict=True)] == [True, True, True, False]


def test_two_processes_give_the_same_bytes(cars):
    (cars[0] / "three.toml").write_text(small_corner(), encoding="utf-8")
    assert files(clearance.study(*cars, processes=1)) == files(clearance.study(*cars, processes=2))


def test_a_list_in_parquet_is_read_as_the_same_list(cars, tmp_path):
    pyarrow = pytest.importorskip("pyarrow")
    from pyarrow import parquet

    rows = list(csv.DictReader(io.StringIO(LIST)))
    parquet.write_table(pyarrow.Table.from_pylist(rows), tmp_path / "list.parquet")
    assert study_work.read_list(tmp_path / "list.parquet") == study_work.read_list(cars[1])


def test_the_parquet_table_is_the_csv(cars):
    pytest.importorskip("pyarrow")
    from pyarrow import BufferReader, parquet

    made = files(clearance.study(*cars, processes=1))
    table = parquet.read_table(BufferReader(made["study.parquet"])).to_pylist()
    rows = list(csv.DictReader(io.StringIO(made["study.csv"].decode())))
    assert [{key: "" if value is None else str(value) for key, value in row.items()} for row in table] == rows


def test_what_the_search_answers_has_its_confidence_and_a_near_miss_its_change(cars):
    """Few wheels are searched: the shares are those of outlines, to what two brackets differ by; the change clears."""
    (cars[0] / "one.toml").write_text(small_corner("inner wall"), encoding="utf-8")
    cars[1].write_text("tire,width,offset\n235/75R15,7 in,1 mm\n235/75R15,7 in,-8 mm\n", encoding="utf-8")
    rows = list(csv.DictReader(io.StringIO(files(clearance.study(*cars, processes=1))["study.csv"].decode())))
    assert [row["measured"] for row in rows] == ["search", "search"]
    car = clearance.load_car(cars[0] / "one.toml")
    listed, _ = study_work.read_list(cars[1])
    room = Room(car.at("rear-left"), study_work.window_for(listed))
    for row, one in zip(rows, listed, strict=True):
        place = Rack(car).put(one)["rear-left"]
        laid = Laid(outline=place.outline, shifts=np.array([place.shifted_mm]))
        ends = room.ends(laid, np.ones((1, 1), dtype=bool), room.least(laid))
        at, stands = ends.place[:, 0], ends.at_least_mm[:, 0]
        by_outline = sure_of_laid(room.mockup, place.tire, room.parts[0], laid, at, stands)
        # half a millimetre of the outline's width against a deviation of two and more
        assert float(row["confidence (0 to 1)"]) == pytest.approx(by_outline[0], abs=0.12)
    assert rows[0]["verdict"] == "tight"
    change = float(rows[0]["offset_change (mm)"])
    place = Rack(car).put(listed[0])["rear-left"]
    assert gaps_of(with_offset(place.corner, place.offset_mm + change))[0].verdict == "clears"
    less = change - 1.0 if change > 0 else change + 1.0
    assert gaps_of(with_offset(place.corner, place.offset_mm + less))[0].verdict != "clears"


def test_a_deep_hit_is_told_to_a_tenth_of_its_depth_and_a_shallow_one_as_by_check(tmp_path):
    """Each wheel stands further inboard; both brackets are true, so they meet."""
    (tmp_path / "one.toml").write_text(small_corner("inner wall"), encoding="utf-8")
    cells = "".join(f"235/75R15,7 in,{offset} mm\n" for offset in (24, 27, 32, 45, 70))
    (tmp_path / "list.csv").write_text(f"tire,width,offset\n{cells}", encoding="utf-8")
    car, (rows, _) = clearance.load_car(tmp_path / "one.toml"), study_work.read_list(tmp_path / "list.csv")
    lines, _ = lines_of(car, "rear-left", rows, study_work.window_for(rows))
    deep = []
    for line, row in zip(lines, rows, strict=True):
        (plain,) = gaps_of(Rack(car).put(row)["rear-left"].corner)
        assert line.measured == "search"
        assert line.verdict == plain.verdict
        # the same formula of the same places, but for what is rounded
        assert line.at_least_mm <= plain.at_most_mm + 1e-6
        assert line.at_most_mm >= plain.at_least_mm - 1e-6
        share = 0.1 if line.at_most_mm < -NEAR_MM else 0.0
        assert line.at_most_mm - line.at_least_mm <= max(TOLERANCE_MM, share * -line.at_most_mm) + ROUNDING_MM
        deep.append(line.at_most_mm < -NEAR_MM)
    assert {True, False} == set(deep)


def test_a_car_that_needs_more_memory_than_it_may_have_is_refused_in_one_message(cars, monkeypatch):
    monkeypatch.setattr("clearance.door.study_spread.work", lambda piece: str(len(np.ones(50_000_000))))
    piece = study_work.piece_of("two.toml", cars[0] / "two.toml", cars[1], "x")
    before = resource.getrlimit(resource.RLIMIT_DATA)
    taken, _ = study_spread._taken()
    with pytest.raises(clearance.OutputError, match=r"two\.toml'?: this car needs more than .* --memory"):
        next(study_spread.here([piece], 1, taken + 100_000_000))
    assert list(study_spread.here([piece], 1, taken + 600_000_000)) == [(piece, "50000000")]
    assert resource.getrlimit(resource.RLIMIT_DATA) == before


def test_so_is_a_gathering_and_what_a_worker_of_a_cluster_is_given_too_little_for(cars, monkeypatch):
    taken, _ = study_spread._taken()
    monkeypatch.setattr(door, "_gathered", lambda *_: np.ones(150_000_000))
    with pytest.raises(clearance.OutputError, match=r"cars needs more than the .* --memory, or put the cars"):
        clearance.study(*cars, processes=1, memory_bytes=max(taken + 100_000_000, study_spread.PROCESS_BYTES))
    monkeypatch.setattr(study_spread, "work", lambda piece: str(len(np.ones(50_000_000))))
    piece = study_work.piece_of("two.toml", cars[0] / "two.toml", cars[1], "x")
    monkeypatch.setattr(study_spread, "worker_limit", lambda: taken + 100_000_000)
    with pytest.raises(clearance.OutputError, match=r"two\.toml'?: this car needs more than .* --memory-limit"):
        study_spread.on_worker(piece)
    for enough in (taken + 600_000_000, None):
        monkeypatch.setattr(study_spread, "worker_limit", lambda enough=enough: enough)
        assert study_spread.on_worker(piece) == "50000000"


def test_who_is_done_gets_the_next_row_and_nothing_is_lost():
    found = dict(as_made(_slowly, [(number,) for number in range(9)], 2))
    assert found == {number: number * number for number in range(9)}
    with pytest.raises(clearance.InputError, match="seven"):
        list(as_made(_refusing, [(number,) for number in range(9)], 2))


def _slowly(number: int) -> int:
    time.sleep(0.02 if number == 0 else 0.0)
    return number * number


def _refusing(number: int) -> int:
    if number == 7:
        raise clearance.InputError("seven")
    return number


@pytest.mark.slow
def test_three_broken_cars_among_two_hundred(tmp_path):
    (tmp_path / "cars").mkdir()
    for number in range(200):
        text = f"{small_corner()}\n# car {number}\n" if number not in (3, 77, 150) else "[tire"
        (tmp_path / "cars" / f"car-{number:03}.toml").write_text(text, encoding="utf-8")
    (tmp_path / "list.csv").write_text(LIST, encoding="utf-8")
    found = clearance.study(tmp_path / "cars", tmp_path / "list.csv", processes=2)
    torn = [one["file"] for one in found.value.facts["not_answered"] if one["file"].startswith("car-")]
    assert torn == ["car-003.toml", "car-077.toml", "car-150.toml"]
    assert found.value.facts["rows"] == 197 * 2


@pytest.mark.parametrize("cars_folder", ["none", "empty"])
def test_a_folder_without_cars_is_refused(cars_folder, tmp_path):
    (tmp_path / "empty").mkdir()
    (tmp_path / "list.csv").write_text(LIST, encoding="utf-8")
    with pytest.raises(clearance.InputError, match=r"folder|no car"):
        clearance.study(tmp_path / cars_folder, tmp_path / "list.csv")
