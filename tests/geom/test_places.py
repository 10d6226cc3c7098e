"""Rows made one: as numpy's own unique of rows has them."""

from __future__ import annotations

import numpy as np
import pytest

from clearance.geom import places
from clearance.geom.places import each_once, numbers_once

TABLES = {
    "none": np.zeros((0, 3)),
    "one": np.array([[1.0, 2.0, 3.0]]),
    "lengths": np.random.default_rng(1).integers(-4, 5, (3000, 3)) * 0.3,
    "with a share": np.random.default_rng(2).integers(-2, 3, (2000, 4)) * 0.1,
    "numbers": np.random.default_rng(3).integers(0, 40, (2000, 2)),
    "two zeros": np.array([[0.0, 1.0], [-0.0, 1.0], [-1.0, -0.0], [-1.0, 0.0]]),
}


@pytest.mark.parametrize("table", TABLES.values(), ids=list(TABLES))
def test_they_are_numpys_rows_in_numpys_order(table):
    _, first, which = np.unique(table + 0, axis=0, return_index=True, return_inverse=True)
    found, each = each_once(table)
    np.testing.assert_array_equal(found, first)
    np.testing.assert_array_equal(each, which.reshape(-1))


def test_rows_that_mix_to_one_number_are_told_apart(monkeypatch):
    monkeypatch.setattr(places, "_mixed", lambda rows, seed: np.zeros(len(rows), dtype=np.uint64))
    table = TABLES["lengths"]
    _, first, which = np.unique(table, axis=0, return_index=True, return_inverse=True)
    found, each = each_once(table)
    np.testing.assert_array_equal(found, first)
    np.testing.assert_array_equal(each, which.reshape(-1))


def test_where_two_rows_mix_to_one_number_they_are_mixed_anew(monkeypatch):
    rows, mixed, asked = TABLES["numbers"], places._mixed, []

    def once(rows, seed):
        asked.append(seed)
        return np.zeros(len(rows), dtype=np.uint64) if seed == 0 else mixed(rows, seed)

    monkeypatch.setattr(places, "_mixed", once)
    first, which = each_once(rows)
    assert asked == [0, 1]
    assert np.array_equal(rows[first][which], rows)
    assert len(first) == len(np.unique(rows, axis=0))


@pytest.mark.parametrize("count", [0, 1, 2, 500])
def test_numbers_once_are_what_the_library_finds(count):
    numbers = np.random.default_rng(4).integers(-20, 20, count)
    assert np.array_equal(numbers_once(numbers), np.unique(numbers))
