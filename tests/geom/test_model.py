"""Polynomials with a proven remainder, against the functions that they stand for and against mpmath's intervals."""

from __future__ import annotations

import numpy as np
import pytest

from clearance.geom.model import (
    Grid,
    Model,
    Unproven,
    cosine_and_sine,
    polynomial,
    product,
    reciprocal,
    reciprocal_root,
    root,
    stacked,
)

BOX = ((-70.0, 80.0), (-30.0, 25.0))


def grid(degree=9, box=BOX):
    return Grid(box=box, degrees=(degree,) * len(box))


def settings(box=BOX, count=3000):
    low, high = np.array(box).T
    return np.random.default_rng(4).uniform(low, high, (count, len(box)))


def holds(model: Model, truth, box=BOX) -> float:
    """The truth lies within the rest of the polynomial at random places; how much of the rest is used."""
    rows = settings(box)
    off = np.abs(model.at(rows) - truth(*rows.T)).max(axis=0)
    assert np.all(off <= model.rest + 1e-13)  # evaluating the polynomial rounds too
    return float(np.max(off / np.maximum(model.rest, 1e-300)))


def test_sums_and_products_of_low_powers_are_exact_but_for_rounding():
    x, y = grid().number(0), grid().number(1)
    model = (x * y + 2.0) * x - y * 3.0
    holds(model, lambda a, b: (a * b + 2.0) * a - b * 3.0)
    assert model.rest < 1e-6  # values of some 200,000, rounded at the thirteenth digit


def test_what_is_cut_off_joins_the_rest():
    """x^12 kept to the ninth power: T12 and T10 of its expansion must be in the rest, and they are all of it."""
    one = Grid(box=((-1.0, 1.0),), degrees=(6,))
    x = one.number(0)
    power = x * x * x * x * x * x
    model = power * power
    # x^12 = 2^-11 (T12 + 12 T10 + 66 T8 + ...): Abramowitz and Stegun, table 22.3
    assert model.rest == pytest.approx((1 + 12 + 66) / 2**11, rel=1e-9)
    holds(model, lambda a: a**12, box=((-1.0, 1.0),))


FUNCTIONS = {
    "reciprocal": (lambda u: reciprocal(u), lambda v: 1.0 / v),
    "root": (lambda u: root(u), np.sqrt),
    "reciprocal root": (lambda u: reciprocal_root(u), lambda v: 1.0 / np.sqrt(v)),
}


@pytest.mark.parametrize("name", FUNCTIONS)
@pytest.mark.parametrize("degree", [4, 8, 16])
def test_quotients_and_roots_hold_the_truth(name, degree):
    made, plain = FUNCTIONS[name]
    x, y = grid(degree).number(0), grid(degree).number(1)
    model = made(x * 0.004 + y * 0.01 + 1.5)
    holds(model, lambda a, b: plain(0.004 * a + 0.01 * b + 1.5))


@pytest.mark.parametrize("degree", [4, 8, 16])
def test_cosine_and_sine_hold_the_truth(degree):
    x, y = grid(degree).number(0), grid(degree).number(1)
    cosine, sine = cosine_and_sine(x * 0.005 - y * 0.02 + 0.3)
    holds(cosine, lambda a, b: np.cos(0.005 * a - 0.02 * b + 0.3))
    holds(sine, lambda a, b: np.sin(0.005 * a - 0.02 * b + 0.3))


def test_a_rest_is_carried_through_every_step():
    """A number that is 1 give or take 0.01: its square, quotient, root and cosine hold all that it may be."""
    one = Grid(box=((0.0, 1.0),), degrees=(3,))
    doubtful = Model(grid=one, values=np.ones((1,)), rest=np.array(0.01))
    for value in (0.99, 1.0, 1.01):
        for model, truth in (
            (doubtful * doubtful, value * value),
            (reciprocal(doubtful), 1 / value),
            (root(doubtful), np.sqrt(value)),
            (cosine_and_sine(doubtful)[0], np.cos(value)),
            (product("...i,...i->...", stacked([doubtful, doubtful]), np.array([3.0, 4.0])), 7 * value),
        ):
            middle = float(model.values.reshape(-1)[0])
            assert abs(truth - middle) <= model.rest


def test_a_quotient_by_what_may_be_zero_is_refused():
    x = grid().number(0)
    with pytest.raises(Unproven):
        reciprocal(x)
    with pytest.raises(Unproven):
        root(x + 60.0)


def test_a_long_series_over_part_of_its_span_is_held():
    rng = np.random.default_rng(8)
    coefficients = rng.normal(size=25) * 0.5 ** np.arange(25)
    part = Grid(box=((-10.0, 35.0),), degrees=(7,))
    model = polynomial(part, 0, coefficients, (-60.0, 60.0))
    holds(model, lambda a: np.polynomial.chebyshev.chebval(a / 60.0, coefficients), box=((-10.0, 35.0),))


def test_a_bound_is_never_under_a_value():
    rng = np.random.default_rng(9)
    for _ in range(20):
        values = rng.normal(size=(19, 19, 3))
        model = grid().sampled(values.reshape(-1, 3))
        assert np.all(np.abs(model.at(settings())).max(axis=0) <= model.bound())
        low, high = model.range()
        found = model.at(settings())
        assert np.all((found >= low) & (found <= high))
