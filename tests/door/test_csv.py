"""The rows of answers as a spreadsheet reads them: by the csv module of the language, column by column."""

from __future__ import annotations

import csv
import io
from pathlib import Path

import pytest

import clearance
from clearance.facts.columns import table_text

FIXTURES = Path(__file__).parents[2] / "fixtures"


def read(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text)))


@pytest.fixture(scope="module")
def pickup():
    return clearance.load(FIXTURES / "corners" / "orchard-pickup-rear.toml")


def test_every_part_of_a_check_is_a_row_with_its_numbers_and_their_units(pickup):
    answer = clearance.check(pickup)
    table, parts = read(answer.csv()), answer.to_dict()["parts"]
    assert [row["name"] for row in table] == [part["name"] for part in parts]
    for row, part in zip(table, parts, strict=True):
        assert float(row["gap.at_least (mm)"]) == part["gap"]["at_least"]
        assert float(row["required (mm)"]) == part["required"]
        assert float(row["position.steer (deg)"]) == part["position"]["steer"]
        assert [float(value) for value in row["on_part"].split()] == part["on_part"]
        assert row["where"] == part["where"]


def test_units_are_those_of_the_published_shape(pickup):
    row = read(clearance.budget(pickup).csv())[0]
    assert {"gap (mm)", "worst (mm)", "confidence (0 to 1)", "part"} <= row.keys()
    row = read(clearance.window(pickup, widths_in=[7.0]).csv())[0]
    assert row["width_in (in)"] == "7.0"
    assert {"stretches.least.offset (mm)", "stretches.most.binds.steer (deg)"} <= row.keys()


def test_a_list_of_rows_within_a_row_is_laid_beside_it():
    """As the sizes of each axle are: what the axle is called, then each size; an axle without one has its line."""
    fits = [
        {"size": "a", "spare": 1.5, "binds": {"part": "lip", "bump": 3.0}},
        {"size": "b", "spare": 0.5, "binds": None},
    ]
    axles = [{"axle": "front", "fits": fits}, {"axle": "rear", "fits": [fits[0]]}]
    table = read(table_text({"format": "clearance-car-largest/1", "axles": axles}, "axles"))
    assert [(row["axle"], row["fits.size"], row["fits.spare (mm)"]) for row in table] == [
        ("front", "a", "1.5"),
        ("front", "b", "0.5"),
        ("rear", "a", "1.5"),
    ]
    assert [row["fits.binds.part"] for row in table] == ["lip", "", "lip"]
    assert [row["fits.binds.bump (mm)"] for row in table] == ["3.0", "", "3.0"]


def test_an_answer_without_rows_has_its_headings(pickup):
    text = clearance.relief(pickup).csv()
    assert text.count("\n") == 1
    assert text.startswith("part,")


def test_a_name_that_a_spreadsheet_would_run_is_no_formula(tmp_path):
    file = tmp_path / "named.toml"
    text = (FIXTURES / "corners" / "orchard-pickup-rear.toml").read_text(encoding="utf-8")
    file.write_text(text.replace('name = "lip"', 'name = "=1+1"'), encoding="utf-8")
    names = [row["name"] for row in read(clearance.check(clearance.load(file)).csv())]
    assert "'=1+1" in names
    assert "=1+1" not in names
