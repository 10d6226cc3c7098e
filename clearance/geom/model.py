"""Polynomials with a proven remainder: what a function of a few numbers can be, everywhere in a box.

A model is a polynomial in the numbers of a box together with `rest`, a bound on how far the function may be from it at
any place of the box. Sums, products, roots and turns of models are models again, so a bound on a whole mechanism comes
out of the same formulas that give its pose.

* grid   - a box of numbers and, for each, how high its polynomials may go; every polynomial is held by its values at
           twice as many Chebyshev points, at which the product of any two is exact
* bound  - no value of a polynomial is larger than the sum of its Chebyshev coefficients' sizes, for none of them
           exceeds 1 in the box
* tail   - what a product has beyond the highest power that the grid keeps: its bound joins the rest

Rounding is allowed for: every step adds `ROUNDING` of the size of what it made to its rest, several hundred times what
double precision loses there.

Sources: L. N. Trefethen, Approximation Theory and Approximation Practice, SIAM 2013; the idea of carrying a remainder
along is that of Taylor models (K. Makino and M. Berz, Int. J. Pure Appl. Math. 4, 2003), here with Chebyshev's
polynomials.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np

from clearance.pose import Array

ROUNDING = 1e-13
_SERIES = 24
"""Terms of the series of a function of one number, over the range that a model can take."""


class Unproven(Exception):  # noqa: N818 - it is no error: whoever asked says "checked" where it would say "proven"
    """A bound that does not come out: the box is too wide for it, or the function does not exist all over it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Grid:
    """A box of numbers with the highest power that is kept for each."""

    box: tuple[tuple[float, float], ...]
    degrees: tuple[int, ...]

    def axis(self, number: int) -> Array:
        """(points,): the values of one number at the grid's points."""
        low, high = self.box[number]
        points: Array = (low + high) / 2 + (high - low) / 2 * _points(2 * self.degrees[number] + 1)
        return points

    def axes(self) -> tuple[Array, ...]:
        """The same of all numbers."""
        return tuple(self.axis(i) for i in range(len(self.box)))

    def settings(self) -> Array:
        """(n, k): every point of the grid, the last number varying fastest."""
        axes = self.axes()
        return np.array(np.meshgrid(*axes, indexing="ij")).reshape(len(axes), -1).T if axes else np.zeros((1, 0))

    def number(self, number: int) -> Model:
        """One of the numbers itself."""
        shape = [1] * len(self.box)
        shape[number] = -1
        return Model(grid=self, values=self.axis(number).reshape(shape), rest=np.zeros(()))

    def constant(self, value: Any) -> Model:
        """What does not depend on the numbers."""
        array = np.asarray(value, dtype=float)
        return Model(grid=self, values=array.reshape((1,) * len(self.box) + array.shape), rest=np.zeros(array.shape))

    def sampled(self, values: Array) -> Model:
        """The polynomial, cut to the powers that are kept, through values (n, ...) at `settings`; no bound is claimed:
        its rest is zero."""
        counts = tuple(2 * d + 1 for d in self.degrees)
        whole = Model(grid=self, values=values.reshape(counts + values.shape[1:]), rest=np.zeros(values.shape[1:]))
        kept = whole.trimmed()
        return Model(grid=self, values=kept.values, rest=np.zeros(values.shape[1:]))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Model:
    """An array of polynomials on one grid, each with its rest."""

    grid: Grid
    values: Array
    """(points or 1, ..., *shape): a number along which nothing changes has one value."""
    rest: Array
    """(*shape)"""

    __array_ufunc__ = None
    """Arrays leave the arithmetic to the model."""

    @property
    def shape(self) -> tuple[int, ...]:
        """Of the array of polynomials."""
        return self.rest.shape

    def __getitem__(self, key: Any) -> Model:
        inner = key if isinstance(key, tuple) else (key,)
        whole = (slice(None),) * len(self.grid.box)
        return Model(grid=self.grid, values=self.values[whole + inner], rest=self.rest[key])

    def __neg__(self) -> Model:
        return Model(grid=self.grid, values=-self.values, rest=self.rest)

    def __add__(self, other: Any) -> Model:
        theirs = self._other(other)
        one, two = _alike(self, theirs)
        values = one + two
        return Model(grid=self.grid, values=values, rest=self.rest + theirs.rest + ROUNDING * _largest(values, self))

    __radd__ = __add__

    def __sub__(self, other: Any) -> Model:
        return self + (-self._other(other))

    def __rsub__(self, other: Any) -> Model:
        left: Model = -self + other
        return left

    def __mul__(self, other: Any) -> Model:
        if isinstance(other, (int, float)):
            return Model(grid=self.grid, values=self.values * other, rest=self.rest * abs(other))
        theirs = self._other(other)
        one, two = _alike(self, theirs)
        rest = self.bound() * theirs.rest + self.rest * theirs.bound() + self.rest * theirs.rest
        return Model(grid=self.grid, values=one * two, rest=rest).trimmed()

    __rmul__ = __mul__

    def __matmul__(self, other: Any) -> Model:
        return product("...ij,...j->...i" if len(self._other(other).shape) == 1 else "...ij,...jk->...ik", self, other)

    def __rmatmul__(self, other: Any) -> Model:
        left: Model = self._other(other).__matmul__(self)
        return left

    @property
    def transposed(self) -> Model:
        """Of matrices, the last two axes change places."""
        return Model(grid=self.grid, values=np.swapaxes(self.values, -1, -2), rest=np.swapaxes(self.rest, -1, -2))

    def bound(self) -> Array:
        """(*shape): no value of the polynomial alone is larger."""
        sizes: Array = np.abs(self._coefficients()).sum(axis=self._numbers)
        return sizes * (1.0 + ROUNDING)

    def most(self) -> Array:
        """(*shape): no value of the function is larger."""
        return self.bound() + self.rest

    def range(self) -> tuple[Array, Array]:
        """(*shape) twice: the function lies between these."""
        coefficients = self._coefficients()
        middle = coefficients[(0,) * len(self.grid.box)]
        around = np.abs(coefficients).sum(axis=self._numbers) - np.abs(middle)
        half = around * (1.0 + ROUNDING) + self.rest + ROUNDING * np.abs(middle)
        return middle - half, middle + half

    def trimmed(self) -> Model:
        """The same function with no more powers than the grid keeps."""
        coefficients = self._coefficients()
        rest = self.rest + ROUNDING * np.abs(coefficients).sum(axis=self._numbers)
        beyond = np.zeros(coefficients.shape[: len(self._numbers)], dtype=bool)
        for number, degree in enumerate(self.grid.degrees):
            window = [slice(None)] * beyond.ndim
            window[number] = slice(degree + 1, None)
            beyond[tuple(window)] = coefficients.shape[number] > 1
        if not beyond.any():
            return Model(grid=self.grid, values=self.values, rest=rest)
        rest = rest + np.abs(coefficients[beyond]).sum(axis=0)
        values = np.where(beyond.reshape(beyond.shape + (1,) * len(self.shape)), 0.0, coefficients)
        for number in self._numbers:
            if values.shape[number] > 1:
                values = _along(_values_of(values.shape[number]), values, number)
        return Model(grid=self.grid, values=values, rest=rest)

    def at(self, settings: Array) -> Array:
        """The polynomial (n, *shape) at settings (n, k)."""
        coefficients = self._coefficients()
        basis = np.ones((len(settings), 1))
        count = 1
        for number in self._numbers:
            low, high = self.grid.box[number]
            size = coefficients.shape[number]
            scaled = (2.0 * settings[:, number] - (low + high)) / (high - low)
            basis = (basis[:, :, None] * chebyshev(scaled, size)[:, None, :]).reshape(len(settings), -1)
            count *= size
        value: Array = (basis @ coefficients.reshape(count, -1)).reshape((len(settings), *self.shape))
        return value

    @property
    def _numbers(self) -> tuple[int, ...]:
        return tuple(range(len(self.grid.box)))

    def _coefficients(self) -> Array:
        coefficients = self.values
        for number in self._numbers:
            if coefficients.shape[number] > 1:
                coefficients = _along(transform(coefficients.shape[number]), coefficients, number)
        return coefficients

    def _other(self, other: Any) -> Model:
        return other if isinstance(other, Model) else self.grid.constant(other)


def product(terms: str, one: Model | Array, other: Model | Array) -> Model:
    """A sum of products over the axes of the arrays, as `numpy.einsum` writes it; each term begins with "..."."""
    grid = one.grid if isinstance(one, Model) else other.grid  # type: ignore[union-attr]
    one, other = (m if isinstance(m, Model) else grid.constant(m) for m in (one, other))
    values = np.einsum(terms, *_spread(one, other))
    bounds = np.einsum(terms, one.bound(), other.rest) + np.einsum(terms, one.rest, other.bound() + other.rest)
    return Model(grid=grid, values=values, rest=bounds).trimmed()


def stacked(models: Sequence[Model | float], axis: int = 0) -> Model:
    """Models side by side along a new axis of their array."""
    grid = next(m.grid for m in models if isinstance(m, Model))
    each = [m if isinstance(m, Model) else grid.constant(m) for m in models]
    numbers = len(grid.box)
    counts = tuple(max(m.values.shape[i] for m in each) for i in range(numbers))
    values = [np.broadcast_to(m.values, counts + m.values.shape[numbers:]) for m in each]
    return Model(grid=grid, values=np.stack(values, axis=numbers + axis), rest=np.stack([m.rest for m in each], axis))


def reciprocal(model: Model) -> Model:
    """One over each.

    With y near 1/u, u y = 1 - e, so 1/u = y / (1 - e). Raises Unproven where a value may be zero.
    """
    guess = _guessed(model, lambda v: 1.0 / v)
    off = (1.0 - model * guess).most()
    _refuse(off)
    return Model(grid=model.grid, values=guess.values, rest=guess.bound() * off / (1.0 - off))


def root(model: Model) -> Model:
    """The square root of each. Raises Unproven where a value may be zero or less."""
    return model * reciprocal_root(model)


def reciprocal_root(model: Model) -> Model:
    """One over the square root of each.

    With y near it, u y^2 = 1 - e, so it is y / sqrt(1 - e). Raises Unproven where a value may be zero or less.
    """
    if np.any(model.values <= 0.0):
        raise Unproven("a root of what may be zero or less")
    guess = _guessed(model, lambda v: 1.0 / np.sqrt(v))
    off = (1.0 - model * (guess * guess)).most()
    _refuse(off)
    return Model(grid=model.grid, values=guess.values, rest=guess.bound() * (1.0 / np.sqrt(1.0 - off) - 1.0))


def cosine_and_sine(angle_rad: Model) -> tuple[Model, Model]:
    """Of one angle, in radians."""
    low, high = (float(end) for end in angle_rad.range())
    cosine = composed(angle_rad, np.cos, (low, high))
    sine = composed(angle_rad, np.sin, (low, high))
    return cosine, sine


def composed(model: Model, function: Callable[[Array], Array], ends: tuple[float, float]) -> Model:
    """A cosine or sine of a model whose values lie between `ends`: its Chebyshev series, and what the series leaves.

    Interpolated at n points, a function whose n-th derivative nowhere exceeds 1 is off by no more than
    2 (h/2)^n / n!, h half the width of the range (Trefethen, chapter 7, for Chebyshev points).
    """
    low, high = ends
    half = max((high - low) / 2, 1e-9)
    middle = (low + high) / 2
    series = transform(_SERIES) @ function(middle + half * _points(_SERIES))
    left = 1.0
    for factor in range(1, _SERIES + 1):
        left *= half / 2 / factor
    value = series_of(series, (model - middle) * (1.0 / half))
    return Model(grid=model.grid, values=value.values, rest=value.rest + 2.0 * left + _SERIES * ROUNDING)


def series_of(coefficients: Array, scaled: Model) -> Model:
    """A Chebyshev series of a model whose values lie between -1 and 1, by Clenshaw's recurrence.

    What lies a little outside because of its rest is within the bound: the rest is carried through every product.
    """
    last = scaled.grid.constant(np.zeros(scaled.shape))
    before = last
    for coefficient in coefficients[:0:-1]:
        last, before = scaled * last * 2.0 - before + float(coefficient), last
    return scaled * last - before + float(coefficients[0])


def polynomial(grid: Grid, number: int, coefficients: Array, span: tuple[float, float]) -> Model:
    """A Chebyshev series of one of the grid's numbers, given over a span that holds its range."""
    low, high = span
    if high <= low:
        return grid.constant(float(coefficients[0]))
    scaled = (2.0 * grid.axis(number) - (low + high)) / (high - low)
    # of more powers than the points can tell apart, what is left out is bounded by itself
    kept = 2 * grid.degrees[number] + 1
    values = np.asarray(np.polynomial.chebyshev.chebval(scaled, coefficients[:kept]), dtype=float)
    shape = [1] * len(grid.box)
    shape[number] = -1
    rest = np.array(np.abs(coefficients[kept:]).sum())
    return Model(grid=grid, values=values.reshape(shape), rest=rest).trimmed()


def inverse_guess(matrix: Model) -> Model:
    """Matrices that nearly invert these; nothing is claimed of them, their rest is zero."""
    return _kept(matrix.grid, np.asarray(np.linalg.inv(matrix.values), dtype=float))


def _guessed(model: Model, function: Callable[[Array], Array]) -> Model:
    with np.errstate(all="ignore"):
        values = np.asarray(function(model.values), dtype=float)
    if not np.isfinite(values).all():
        raise Unproven("a quotient by what may be zero")
    return _kept(model.grid, values)


def _kept(grid: Grid, values: Array) -> Model:
    shape = values.shape[len(grid.box) :]
    kept = Model(grid=grid, values=values, rest=np.zeros(shape)).trimmed()
    return Model(grid=grid, values=kept.values, rest=np.zeros(shape))


def _refuse(off: Array) -> None:
    if not np.all(off < 0.5):
        raise Unproven("a quotient that the grid does not follow")


def _alike(one: Model, other: Model) -> tuple[Array, Array]:
    """Values of two models with as many axes each, so that they broadcast by their arrays' last axes."""
    numbers, most = len(one.grid.box), max(len(one.shape), len(other.shape))

    def led(model: Model) -> Array:
        counts, shape = model.values.shape[:numbers], model.values.shape[numbers:]
        return model.values.reshape(counts + (1,) * (most - len(shape)) + shape)

    return led(one), led(other)


def _spread(one: Model, other: Model) -> tuple[Array, Array]:
    numbers = len(one.grid.box)
    counts = np.broadcast_shapes(one.values.shape[:numbers], other.values.shape[:numbers])
    return (
        np.broadcast_to(one.values, counts + one.values.shape[numbers:]),
        np.broadcast_to(other.values, counts + other.values.shape[numbers:]),
    )


def _largest(values: Array, model: Model) -> Array:
    largest: Array = np.abs(values).max(axis=model._numbers)
    return largest


def _along(matrix: Array, values: Array, number: int) -> Array:
    # the sums of numpy's tensordot, without its looking at axes, which takes longer than sums this small
    order = (number, *range(number), *range(number + 1, values.ndim))
    led = values.transpose(order)
    across = np.dot(matrix, led.reshape(len(led), -1)).reshape(len(matrix), *led.shape[1:])
    back: Array = across.transpose(*range(1, number + 1), 0, *range(number + 1, values.ndim))
    return back


@lru_cache(maxsize=64)
def _points(count: int) -> Array:
    return np.cos(np.pi * (np.arange(count) + 0.5) / count)


@lru_cache(maxsize=64)
def transform(size: int) -> Array:
    """The discrete cosine transform (size, size) that turns values at Chebyshev points into coefficients."""
    matrix = 2.0 / size * np.cos(np.pi * np.outer(np.arange(size), np.arange(size) + 0.5) / size)
    matrix[0] /= 2.0
    return matrix


@lru_cache(maxsize=64)
def _values_of(size: int) -> Array:
    return chebyshev(_points(size), size)


def chebyshev(x: Array, size: int) -> Array:
    """(n, size): Chebyshev polynomials of the first kind, by their recurrence."""
    t = np.ones((size, len(x)))
    if size > 1:
        t[1] = x
    twice = 2.0 * x
    for i in range(2, size):
        np.multiply(twice, t[i - 1], out=t[i])
        t[i] -= t[i - 2]
    return t.T
