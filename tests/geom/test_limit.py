"""The least of a linear function over a box that a limit cuts, against linear programming."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import linprog

from clearance.geom.limit import Limit, kept_within, least_linear


def boxes_that_meet_the_limit(rng: np.random.Generator, count: int, limit: Limit, numbers: int):
    """Middles and half ranges (count, numbers) of boxes that hold some setting that the limit allows."""
    middle = rng.uniform(-60.0, 60.0, (20 * count, numbers))
    half = rng.uniform(0.0, 40.0, (20 * count, numbers)) * (rng.random((20 * count, numbers)) < 0.9)
    apart = np.abs(middle[:, limit.one] - middle[:, limit.other])
    meets = apart - half[:, limit.one] - half[:, limit.other] <= limit.most
    assert np.count_nonzero(meets) >= count
    return middle[meets][:count], half[meets][:count]


def least_by_linear_programming(slope, middle, half, limit: Limit) -> float:
    """The same by HiGHS, from the middle's value."""
    row = np.zeros(len(slope))
    row[limit.one], row[limit.other] = 1.0, -1.0
    found = linprog(
        slope, A_ub=[row, -row], b_ub=[limit.most] * 2, bounds=np.column_stack([middle - half, middle + half])
    )
    assert found.success
    return float(found.fun - slope @ middle)


@pytest.mark.parametrize("limit", [Limit(one=0, other=1, most=15.0), Limit(one=2, other=0, most=40.0)])
def test_the_least_is_that_of_a_linear_program_and_is_reached_within_box_and_limit(limit: Limit) -> None:
    rng = np.random.default_rng(7)
    middle, half = boxes_that_meet_the_limit(rng, 150, limit, 3)
    slope = rng.normal(size=(150, 3)) * (rng.random((150, 3)) < 0.85)
    least, way = least_linear(slope.T, half.T, middle.T, (limit,))
    way = way.T
    truth = [least_by_linear_programming(s, m, h, limit) for s, m, h in zip(slope, middle, half, strict=True)]
    assert least == pytest.approx(truth, abs=1e-7)  # HiGHS' own feasibility tolerance, over slopes of about one
    assert np.all(np.abs(way) <= half + 1e-9)
    assert limit.allows(middle + way).all()
    # the limit does cut some of these, or nothing was asked
    assert np.any(least > -np.einsum("ij,ij->i", np.abs(slope), half) + 0.1)


def test_several_functions_over_one_box_are_as_good_as_each_alone() -> None:
    rng = np.random.default_rng(8)
    limit = Limit(one=0, other=1, most=20.0)
    middle, half = boxes_that_meet_the_limit(rng, 40, limit, 4)
    slope = rng.normal(size=(4, 3, 40))
    least, way = least_linear(slope, half.T, middle.T, (limit,))
    for i in range(3):
        alone, there = least_linear(slope[:, i], half.T, middle.T, (limit,))
        assert least[i] == pytest.approx(alone, abs=1e-12)
        assert way[:, i] == pytest.approx(there, abs=1e-12)


def test_without_a_limit_the_least_is_at_a_corner() -> None:
    rng = np.random.default_rng(9)
    slope, half = rng.normal(size=(50, 3)), rng.uniform(0, 5, (50, 3))
    least, _ = least_linear(slope.T, half.T, np.zeros((3, 50)), ())
    assert least == pytest.approx(-(np.abs(slope) * half).sum(axis=1))


def test_settings_are_brought_within_the_limit_and_the_box_and_what_is_allowed_stays() -> None:
    """Boxes that overlap along the diagonal, as bump and the other side's bump do."""
    rng = np.random.default_rng(10)
    for _ in range(50):
        low, high = -rng.uniform(5.0, 90.0, 3), rng.uniform(5.0, 90.0, 3)
        box = np.column_stack([low, high])
        limit = Limit(one=0, other=1, most=float(rng.uniform(5.0, 60.0)))
        settings = rng.uniform(low, high, (200, 3))
        kept = kept_within(settings, box, (limit,))
        assert limit.allows(kept).all()
        assert np.all((kept >= low - 1e-9) & (kept <= high + 1e-9))
        allowed = limit.allows(settings)
        assert np.array_equal(kept[allowed], settings[allowed])
        assert np.array_equal(kept[:, 2], settings[:, 2])
