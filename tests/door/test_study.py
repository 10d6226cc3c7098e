"""Many cars: what cannot be read does not stop the rest, nothing is done twice, and the table is always the same."""

from __future__ import annotations

import csv
import io
from pathlib import Path

import pytest
from hostile.commands import CORNERS

import clearance
from clearance.answers.candidates import Rack
from clearance.answers.checked import gaps_of
from clearance.door import study as door
from clearance.door import study_work

LIST = """tire,width,backspace
235/75R15,7 in,3 3/4 in
235/75R15,7 in,wide
255/70R15,8 in,4 1/4 in
235/75R15,12 in,5 in
"""


def small_corner() -> str:
    """The pickup's corner with its lip alone, which is quick."""
    text = (CORNERS / "orchard-pickup-rear.toml").read_text(encoding="utf-8")
    head, *parts = text.split("[[part]]")
    lip = next(part for part in parts if 'name = "lip"' in part)
    return f"{head}[[part]]{lip}"


@pytest.fixture
def cars(tmp_path: Path) -> tuple[Path, Path]:
    folder = tmp_path / "cars"
    folder.mkdir()
    (folder / "one.toml").write_text(small_corner(), encoding="utf-8")
    (folder / "two.toml").write_text('[corner.rear-left]\nfile = "one.toml"\n', encoding="utf-8")
    (folder / "torn.toml").write_text("[tire", encoding="utf-8")
    (tmp_path / "list.csv").write_text(LIST, encoding="utf-8")
    return folder, tmp_path / "list.csv"


def files(found) -> dict[str, bytes]:
    return {name: one if isinstance(one, bytes) else b"".join(one()) for name, one in found.value.files.items()}


def test_what_cannot_be_read_is_listed_and_the_rest_is_answered(cars):
    found = clearance.study(*cars, processes=1)
    missing = {(one["file"], one["line"], one["column"]) for one in found.value.facts["not_answered"]}
    assert missing == {("list.csv", 3, "backspace"), ("list.csv", 5, "width"), ("torn.toml", None, "")}
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
    assert [one == other for one, other in zip(before, after, strict=True)] == [True, False]


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


@pytest.mark.parametrize("cars_folder", ["none", "empty"])
def test_a_folder_without_cars_is_refused(cars_folder, tmp_path):
    (tmp_path / "empty").mkdir()
    (tmp_path / "list.csv").write_text(LIST, encoding="utf-8")
    with pytest.raises(clearance.InputError, match=r"folder|no car"):
        clearance.study(tmp_path / cars_folder, tmp_path / "list.csv")
