"""A moving centre and axis as polynomials, with bounds on how far they can be from a straight line.

A path answers, for settings q of up to five numbers in a box, where a centre c(q) and a unit axis u(q) are. It is
fitted once, by interpolation at Chebyshev points, to whatever gives exact answers; from then on every question is a
product of matrices, and a bound on every second derivative is a sum of coefficients, because no Chebyshev polynomial
exceeds 1.

* setting   - a row q of numbers, each within its range of the box
* far move  - how far one carried point has moved; zero for all but parts that two frames carry
* shift     - the last two numbers of a setting, where there is play: they move the centre along x and y
              and nothing else

Fit error: `error_mm`, measured at points that the fit did not use, is part of every certificate.
Source: L. N. Trefethen, Approximation Theory and Approximation Practice, SIAM 2013, chapters 3, 4 and 8.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from clearance.pose import Array

_OUT = 9
"""Numbers fitted per setting: centre (3), axis (3), far move (3)."""
_DEGREES = (4, 8, 12, 18, 26, 36)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Rates:
    """A path at n settings, with its first derivatives by each of k numbers."""

    centre: Array
    """(n, 3)"""
    axis: Array
    """(n, 3) unit"""
    far: Array
    """(n, 3)"""
    centre_by: Array
    """(n, k, 3)"""
    axis_by: Array
    """(n, k, 3)"""
    far_by: Array
    """(n, k, 3)"""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Path:
    """A fitted path. `box` is (k, 2); the last two numbers are shifts where `has_shift`."""

    box: Array
    has_shift: bool
    coefficients: Array
    """(m, 9): of products of Chebyshev polynomials, the last number varying fastest."""
    sizes: tuple[int, ...]
    """How many polynomials per smooth number; their product is m."""
    by: Array
    """(m, 9 x smooth numbers): coefficients of the derivatives."""
    centre_bend: Array
    """(k, k): bound of every second derivative of the centre, per unit of the numbers."""
    axis_bend: Array
    """(k, k)"""
    axis_turn: Array
    """(k, k): of the part of the axis' second derivatives that is square to the axis. A steady turn has none."""
    far_bend: Array
    """(k, k)"""
    error_mm: float
    """Furthest that the fit was from the truth at points it had not seen, at the reach it was fitted for."""

    @property
    def numbers(self) -> int:
        """How many numbers a setting has."""
        return len(self.box)

    @property
    def moves(self) -> bool:
        """Does anything move at all?"""
        return self.numbers > 0

    def at(self, settings: Array) -> tuple[Array, Array]:
        """Centres (n, 3) and unit axes (n, 3) at settings (n, k)."""
        value = self._basis(settings) @ self.coefficients[:, :6]
        centre, axis = value[:, :3], value[:, 3:6]
        if self.has_shift:
            centre[:, :2] += settings[:, -2:]
        return centre, axis / np.linalg.norm(axis, axis=1)[:, None]

    def far_at(self, settings: Array) -> Array:
        """How far the far end has moved, (n, 3), at settings (n, k)."""
        far: Array = self._basis(settings) @ self.coefficients[:, 6:]
        return far

    def rates(self, settings: Array) -> Rates:
        """The path and its first derivatives at settings (n, k)."""
        count, smooth = len(settings), len(self.sizes)
        basis = self._basis(settings)
        value = basis @ self.coefficients
        slope = np.zeros((count, self.numbers, _OUT))
        if smooth:
            slope[:, :smooth] = (basis @ self.by).reshape(count, smooth, _OUT)
        if self.has_shift:
            value[:, :2] += settings[:, -2:]
            slope[:, -2, 0] = 1.0
            slope[:, -1, 1] = 1.0
        size = np.linalg.norm(value[:, 3:6], axis=1)[:, None]
        return Rates(
            centre=value[:, :3],
            axis=value[:, 3:6] / size,
            far=value[:, 6:],
            centre_by=slope[:, :, :3],
            axis_by=slope[:, :, 3:6],
            far_by=slope[:, :, 6:],
        )

    def _basis(self, settings: Array) -> Array:
        basis = np.ones((len(settings), 1))
        for i, size in enumerate(self.sizes):
            low, high = self.box[i]
            t = _polynomials((2.0 * settings[:, i] - (low + high)) / (high - low), size)
            basis = (basis[:, :, None] * t[:, None, :]).reshape(len(settings), basis.shape[1] * size)
        return basis


def fit(
    truth: Callable[[Array], Array],
    box: Array,
    *,
    shift: Array | None = None,
    reach_mm: float,
    tolerance_mm: float = 1e-5,
) -> Path:
    """Fit a path to `truth`, which gives (n, 9) for settings (n, k): centre, unit axis, far move.

    `box` (k, 2) holds the smooth numbers alone; `shift` (2, 2) the ranges of play along x and y, or None. An error of
    the axis counts at `reach_mm` from the centre. The degree rises until settings that were not used agree to
    `tolerance_mm`; the error that remains is carried in `error_mm`.
    """
    smooth = len(box)
    probes = _probes(box)
    wanted = truth(probes)
    path = None
    for degree in _DEGREES:
        if smooth >= 3 and degree > 18:
            break
        path = _interpolated(truth, box, shift, degree)
        plain = path._basis(_with_shift(probes, path)) @ path.coefficients
        off = plain - wanted
        error = float(
            (
                np.linalg.norm(off[:, :3], axis=1)
                + reach_mm * np.linalg.norm(off[:, 3:6], axis=1)
                + np.linalg.norm(off[:, 6:], axis=1)
            ).max()
        )
        object.__setattr__(path, "error_mm", error)
        if error <= tolerance_mm or smooth == 0:
            break
    assert path is not None
    return _trimmed(path, reach_mm, tolerance_mm / 100)


def part_of(path: Path, box: Array, *, reach_mm: float) -> Path:
    """The same path over a part of its box; `box` (k, 2) holds the smooth numbers alone."""
    smooth = len(path.sizes)

    def truth(settings: Array) -> Array:
        whole = np.column_stack([settings, np.zeros((len(settings), path.numbers - smooth))])
        centre, axis = path.at(whole)
        return np.column_stack([centre, axis, path.far_at(whole)])

    part = fit(truth, box, shift=path.box[-2:] if path.has_shift else None, reach_mm=reach_mm)
    object.__setattr__(part, "error_mm", part.error_mm + path.error_mm)
    return part


def _with_shift(settings: Array, path: Path) -> Array:
    if not path.has_shift:
        return settings
    return np.column_stack([settings, np.zeros((len(settings), 2))])


def _probes(box: Array) -> Array:
    """Settings between the points of any fit: a fixed scatter, the corners and the middle."""
    count = len(box)
    if count == 0:
        return np.zeros((1, 0))
    scatter = np.random.default_rng(20).uniform(box[:, 0], box[:, 1], size=(200, count))
    corners = np.array(np.meshgrid(*box, indexing="ij")).reshape(count, -1).T
    return np.concatenate([scatter, corners, box.mean(axis=1)[None]])


def _interpolated(truth: Callable[[Array], Array], box: Array, shift: Array | None, degree: int) -> Path:
    count = len(box)
    size = degree + 1
    points = np.cos(np.pi * (np.arange(size) + 0.5) / size)
    transform = _transform(size)
    middle, half = box.mean(axis=1), (box[:, 1] - box[:, 0]) / 2
    grid = np.array(np.meshgrid(*[points] * count, indexing="ij")).reshape(count, -1).T if count else np.zeros((1, 0))
    values = truth(middle + half * grid).reshape((size,) * count + (_OUT,))
    for i in range(count):
        values = np.moveaxis(np.tensordot(transform, values, axes=(1, i)), 0, i)
    whole = box if shift is None else np.concatenate([box, shift])
    return _path(whole, shift is not None, values, 0.0)


def _path(box: Array, has_shift: bool, table: Array, error_mm: float) -> Path:
    """A path from coefficients shaped (size, size, ..., 9)."""
    smooth = table.ndim - 1
    slopes = [_differentiated(table, i, box) for i in range(smooth)]
    bends = np.zeros((3, len(box), len(box)))
    turns = np.zeros((len(box), len(box)))
    for i in range(smooth):
        for j in range(smooth):
            bend = _differentiated(slopes[i], j, box).reshape(-1, _OUT)
            for part in range(3):
                bends[part, i, j] = np.linalg.norm(bend[:, 3 * part : 3 * part + 3], axis=1).sum()
            turns[i, j] = _cross_bound(table[..., 3:6], bend.reshape(table.shape)[..., 3:6])
    flat = table.reshape(-1, _OUT)
    by = np.concatenate([s.reshape(-1, _OUT) for s in slopes], axis=1) if slopes else np.zeros((len(flat), 0))
    return Path(
        box=box,
        has_shift=has_shift,
        coefficients=flat,
        sizes=table.shape[:-1],
        by=by,
        centre_bend=bends[0],
        axis_bend=bends[1],
        axis_turn=turns,
        far_bend=bends[2],
        error_mm=error_mm,
    )


def _cross_bound(one: Array, other: Array) -> float:
    """A bound of the cross product of two vectors of polynomials (size, ..., 3), by its own coefficients."""
    first, second = one, other
    back = []
    for i, size in enumerate(one.shape[:-1]):
        count = 2 * size - 1
        points = np.cos(np.pi * (np.arange(count) + 0.5) / count)
        at = _polynomials(points, size)
        first = np.moveaxis(np.tensordot(at, first, axes=(1, i)), 0, i)
        second = np.moveaxis(np.tensordot(at, second, axes=(1, i)), 0, i)
        back.append(_transform(count))
    crossed = np.cross(first, second)
    for i, transform in enumerate(back):
        crossed = np.moveaxis(np.tensordot(transform, crossed, axes=(1, i)), 0, i)
    return float(np.linalg.norm(crossed.reshape(-1, 3), axis=1).sum())


def _transform(size: int) -> Array:
    """The discrete cosine transform that turns values at Chebyshev points into coefficients."""
    transform = 2.0 / size * np.cos(np.pi * np.outer(np.arange(size), np.arange(size) + 0.5) / size)
    transform[0] /= 2.0
    return transform


def _trimmed(path: Path, reach_mm: float, drop_mm: float) -> Path:
    """The same path without the high polynomials that no longer matter; what is dropped joins the error."""
    table = path.coefficients.reshape((*path.sizes, _OUT))
    dropped = 0.0
    for i in range(len(path.sizes)):
        weight = np.linalg.norm(table[..., :3], axis=-1) + reach_mm * np.linalg.norm(table[..., 3:6], axis=-1)
        weight = weight + np.linalg.norm(table[..., 6:], axis=-1)
        tail = np.cumsum(np.moveaxis(weight, i, 0).reshape(table.shape[i], -1).sum(axis=1)[::-1])[::-1]
        keep = max(1, int(np.count_nonzero(tail > drop_mm)))
        if keep < table.shape[i]:
            dropped += float(tail[keep])
            table = np.take(table, np.arange(keep), axis=i)
    return _path(path.box, path.has_shift, np.ascontiguousarray(table), path.error_mm + dropped)


def _differentiated(table: Array, number: int, box: Array) -> Array:
    """Coefficients of the derivative by one number, padded to the same shape."""
    low, high = box[number]
    slope = np.zeros_like(table)
    if table.shape[number] > 1:
        exact = np.polynomial.chebyshev.chebder(table, axis=number, scl=2.0 / (high - low))
        window = [slice(None)] * table.ndim
        window[number] = slice(0, exact.shape[number])
        slope[tuple(window)] = exact
    return slope


def _polynomials(x: Array, size: int) -> Array:
    """(n, size): Chebyshev polynomials of the first kind, by their recurrence."""
    t = np.ones((len(x), size))
    if size > 1:
        t[:, 1] = x
    for i in range(2, size):
        t[:, i] = 2.0 * x * t[:, i - 1] - t[:, i - 2]
    return t
