"""A moving centre and axis as polynomials, with bounds on how far they can be from a straight line.

A path answers, for settings q of up to five numbers in a box, where a centre c(q) and a unit axis u(q) are. It is
fitted once, by interpolation at Chebyshev points, to whatever gives exact answers; from then on every question is a
product of matrices, and a bound on every second derivative is a sum of coefficients, because no Chebyshev polynomial
exceeds 1.

* setting   - a row q of numbers, each within its range of the box
* far move  - how far one carried point has moved; zero for all but parts that two frames carry
* slide     - the last two numbers of a setting, where there is play: the centre, and the far move, slide straight on
              with each. Seen from what does not turn they slide the same way at every setting; seen from a link, that
              way turns with the other numbers, and is fitted as they are

Fit error: `error_mm` is how far the polynomial may be from the truth. It is first measured, at settings that the fit
did not use; whoever can bound it says so with `bounded`, and `proven` is set. It is taken off every lower end.
Source: L. N. Trefethen, Approximation Theory and Approximation Practice, SIAM 2013, chapters 3, 4 and 8.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from clearance.geom.model import chebyshev, transform
from clearance.pose import Array

OUT = 9
"""Numbers fitted per setting: centre (3), axis (3), far move (3)."""
_DEGREES = (4, 8, 12, 18, 26, 36)
_MOST_OF_THREE = 18
"""The highest degree tried where three numbers or more travel and steer."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Slide:
    """Two numbers that slide, and by what."""

    ranges: Array
    """(2, 2): least and greatest of each."""
    by: Array
    """(2, 9): what centre, axis and far move do with one of each; what of it turns is fitted and not here."""
    turns: bool = False
    """Does `truth` say by what, after its nine own numbers, nine for each?"""


def along_and_across(ranges: Array) -> Slide:
    """Play along x and across y of axes that do not turn: it moves the centre and nothing else."""
    return Slide(ranges=ranges, by=np.eye(2, OUT))


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
    """A fitted path. `box` is (k, 2); its last two numbers slide, where there is a slide."""

    box: Array
    slide: Slide | None
    coefficients: Array
    """(m, 9), or (m, 27) with a slide that turns: of products of Chebyshev polynomials, the last number varying
    fastest."""
    sizes: tuple[int, ...]
    """How many polynomials per fitted number; their product is m."""
    by: Array
    """(m, fitted numbers x 9 or 27): coefficients of the derivatives."""
    centre_bend: Array
    """(k, k): bound of every second derivative of the centre, per unit of the numbers."""
    axis_bend: Array
    """(k, k)"""
    axis_turn: Array
    """(k, k): of the part of the axis' second derivatives that is square to the axis. A steady turn has none."""
    far_bend: Array
    """(k, k)"""
    error_mm: float
    """How far the fit may be from the truth, at the reach it was fitted for."""
    checked: int = 0
    """At how many settings, which the fit had not seen, it was held against the truth."""
    proven: bool = False
    """Is `error_mm` a bound for every setting, and not only what was found at those?"""

    @property
    def numbers(self) -> int:
        """How many numbers a setting has."""
        return len(self.box)

    @property
    def moves(self) -> bool:
        """Does anything move at all?"""
        return self.numbers > 0

    def bounded(self, error_mm: float) -> Path:
        """The same path, with a proven bound on how far it is from the truth."""
        return replace(self, error_mm=error_mm, proven=True)

    def at(self, settings: Array) -> tuple[Array, Array]:
        """Centres (n, 3) and unit axes (n, 3) at settings (n, k)."""
        value = self._slid(self._basis(settings) @ self.coefficients, settings)
        centre, axis = value[:, :3], value[:, 3:6]
        return centre, axis / np.linalg.norm(axis, axis=1)[:, None]

    def far_at(self, settings: Array) -> Array:
        """How far the far end has moved, (n, 3), at settings (n, k)."""
        return self._slid(self._basis(settings) @ self.coefficients, settings)[:, 6:]

    def fitted_over(self, axes: tuple[Array, ...]) -> Array:
        """The polynomials alone at every point of a grid (n0, n1, ..., 9 or 27), given each fitted number along it."""
        values = self.coefficients.reshape((*self.sizes, -1))
        for i, (size, axis) in enumerate(zip(self.sizes, axes, strict=True)):
            low, high = self.box[i]
            terms = chebyshev((2.0 * axis - (low + high)) / (high - low), size)
            values = np.moveaxis(np.tensordot(terms, values, axes=(1, i)), 0, i)
        return values

    def rates(self, settings: Array) -> Rates:
        """The path and its first derivatives at settings (n, k)."""
        count, smooth = len(settings), len(self.sizes)
        basis = self._basis(settings)
        value = basis @ self.coefficients
        slope = np.zeros((count, self.numbers, OUT))
        if smooth:
            own = (basis @ self.by).reshape(count, smooth, self.coefficients.shape[1])
            slope[:, :smooth] = own if own.shape[2] == OUT else self._slid(own, settings[:, None])
        if self.slide is not None:
            slope[:, smooth:] = value[:, OUT:].reshape(count, 2, OUT) if self.slide.turns else self.slide.by
        value = self._slid(value, settings)
        size = np.linalg.norm(value[:, 3:6], axis=1)[:, None]
        return Rates(
            centre=value[:, :3],
            axis=value[:, 3:6] / size,
            far=value[:, 6:],
            centre_by=slope[:, :, :3],
            axis_by=slope[:, :, 3:6],
            far_by=slope[:, :, 6:],
        )

    def _slid(self, value: Array, settings: Array) -> Array:
        """What the polynomials give (..., 9 or 27) with the slide taken in, (..., 9)."""
        if self.slide is None:
            return value
        if not self.slide.turns:
            slid: Array = value + settings[..., -2:] @ self.slide.by
            return slid
        own, one, other = (value[..., i * OUT : (i + 1) * OUT] for i in range(3))
        slid = own + settings[..., -2, None] * one + settings[..., -1, None] * other
        return slid

    def _basis(self, settings: Array) -> Array:
        # a row to each product of polynomials: whole rows are what is multiplied
        basis = np.ones((1, len(settings)))
        for i, size in enumerate(self.sizes):
            low, high = self.box[i]
            t = chebyshev((2.0 * settings[:, i] - (low + high)) / (high - low), size).T
            basis = t if not i else (basis[:, None] * t[None]).reshape(len(basis) * size, len(settings))
        return basis.T


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Stops(Path):
    """Where a path is at so many settings, and nothing between them: a setting is the row of its stop.

    What is asked at many places of few settings is looked up, not worked out at each.
    """

    places: Array
    """(n, 9): centre, unit axis, far move of each stop."""

    def at(self, settings: Array) -> tuple[Array, Array]:
        """Centres (n, 3) and unit axes (n, 3) at stops (n, 1)."""
        place = self._place(settings)
        return place[:, :3], place[:, 3:6]

    def far_at(self, settings: Array) -> Array:
        """How far the far end has moved, (n, 3), at stops (n, 1)."""
        return self._place(settings)[:, 6:]

    def rates(self, settings: Array) -> Rates:
        """The stops; none leads anywhere."""
        place, still = self._place(settings), np.zeros((len(settings), 1, 3))
        return Rates(
            centre=place[:, :3], axis=place[:, 3:6], far=place[:, 6:], centre_by=still, axis_by=still, far_by=still
        )

    def _place(self, settings: Array) -> Array:
        found: Array = self.places[settings[:, 0].astype(np.intp)]
        return found


def stops_of(asked: Sequence[tuple[Path, Array]]) -> Stops:
    """Paths at settings (n, k) alone, the stops of one below those of another."""
    still = np.zeros((1, 1))
    places = np.vstack([np.hstack([*path.at(settings), path.far_at(settings)]) for path, settings in asked])
    return Stops(
        box=np.array([[0.0, float(max(0, len(places) - 1))]]),
        slide=None,
        coefficients=np.zeros((1, OUT)),
        sizes=(1,),
        by=np.zeros((1, OUT)),
        centre_bend=still,
        axis_bend=still,
        axis_turn=still,
        far_bend=still,
        error_mm=max(path.error_mm for path, _ in asked),
        checked=min(path.checked for path, _ in asked),
        proven=all(path.proven for path, _ in asked),
        places=places,
    )


def fit(
    truth: Callable[[Array], Array],
    box: Array,
    *,
    slide: Slide | None = None,
    reach_mm: float,
    tolerance_mm: float = 1e-5,
) -> Path:
    """Fit a path to `truth`, which gives (n, 9) for settings (n, k): centre, unit axis, far move.

    `box` (k, 2) holds the numbers that are fitted alone; where the slide turns, `truth` gives (n, 27). An error of the
    axis counts at `reach_mm` from the centre. The degree rises until settings that were not used agree to
    `tolerance_mm`; the error that remains is carried in `error_mm`.
    """
    probes = _probes(box)
    wanted = truth(probes)
    path = None
    for degree in _DEGREES:
        if len(box) >= 3 and degree > _MOST_OF_THREE:
            break
        path = _interpolated(truth, box, (degree,) * len(box), slide)
        off = path._basis(probes) @ path.coefficients - wanted
        error = float(sizes_mm(off, slide, reach_mm).max())
        path = replace(path, error_mm=error, checked=len(probes))
        if error <= tolerance_mm or not len(box):
            break
    assert path is not None
    return _trimmed(path, reach_mm, tolerance_mm / 100)


def part_of(path: Path, box: Array) -> Path:
    """The same polynomials over a part of their box; `box` (k, 2) holds the fitted numbers alone."""
    degrees = tuple(size - 1 for size in path.sizes)
    points = _nodes(box, degrees)
    part = _through(path.fitted_over(points), box, path.slide)
    return replace(part, error_mm=path.error_mm, checked=path.checked, proven=path.proven)


def sizes_mm(numbers: Array, slide: Slide | None, reach_mm: float) -> Array:
    """(...,): how large differences of paths (..., 9 or 27) are at most, at this reach."""
    blocks = numbers.reshape((*numbers.shape[:-1], -1, 3, 3))
    centre, axis, far = (np.linalg.norm(blocks[..., i, :], axis=-1) for i in range(3))
    each = centre + reach_mm * axis + far
    furthest = [1.0] if slide is None or not slide.turns else [1.0, *np.abs(slide.ranges).max(axis=1)]
    sizes: Array = each @ np.array(furthest)
    return sizes


def _probes(box: Array) -> Array:
    """Settings between the points of any fit: a fixed scatter, the corners and the middle."""
    count = len(box)
    if count == 0:
        return np.zeros((1, 0))
    scatter = np.random.default_rng(20).uniform(box[:, 0], box[:, 1], size=(200, count))
    corners = np.array(np.meshgrid(*box, indexing="ij")).reshape(count, -1).T
    return np.concatenate([scatter, corners, box.mean(axis=1)[None]])


def _nodes(box: Array, degrees: tuple[int, ...]) -> tuple[Array, ...]:
    """Chebyshev points along each number."""
    points = [np.cos(np.pi * (np.arange(d + 1) + 0.5) / (d + 1)) for d in degrees]
    return tuple((low + high) / 2 + (high - low) / 2 * p for (low, high), p in zip(box, points, strict=True))


def _interpolated(truth: Callable[[Array], Array], box: Array, degrees: tuple[int, ...], slide: Slide | None) -> Path:
    points = _nodes(box, degrees)
    count = len(box)
    grid = np.array(np.meshgrid(*points, indexing="ij")).reshape(count, -1).T if count else np.zeros((1, 0))
    return _through(truth(grid).reshape((*(d + 1 for d in degrees), -1)), box, slide)


def _through(values: Array, box: Array, slide: Slide | None) -> Path:
    """The path through values (n0, n1, ..., 9 or 27) at its Chebyshev points."""
    for i in range(len(box)):
        values = np.moveaxis(np.tensordot(transform(values.shape[i]), values, axes=(1, i)), 0, i)
    return _path(box if slide is None else np.concatenate([box, slide.ranges]), slide, values, 0.0)


def _path(box: Array, slide: Slide | None, table: Array, error_mm: float) -> Path:
    """A path from coefficients shaped (size, size, ..., 9 or 27)."""
    smooth = table.ndim - 1
    slopes = [_differentiated(table, i, box) for i in range(smooth)]
    bends = np.zeros((3, len(box), len(box)))
    turns = np.zeros((len(box), len(box)))
    for i in range(smooth):
        if slide is not None and slide.turns:
            # what slides goes another way as this number changes
            bends[:, i, smooth:] = _sums(slopes[i])[1:].T
            bends[:, smooth:, i] = bends[:, i, smooth:]
        for j in range(smooth):
            bend = _differentiated(slopes[i], j, box)
            own, *slid = _sums(bend)
            bends[:, i, j] = own
            if slide is not None and slid:
                bends[:, i, j] += np.abs(slide.ranges).max(axis=1) @ np.array(slid)
            turns[i, j] = _cross_bound(table[..., 3:6], bend[..., 3:6])
    flat = table.reshape(-1, table.shape[-1])
    by = np.concatenate([s.reshape(flat.shape) for s in slopes], axis=1) if slopes else np.zeros((len(flat), 0))
    return Path(
        box=box,
        slide=slide,
        coefficients=flat,
        sizes=table.shape[:-1],
        by=by,
        centre_bend=bends[0],
        axis_bend=bends[1],
        axis_turn=turns,
        far_bend=bends[2],
        error_mm=error_mm,
    )


def _sums(table: Array) -> Array:
    """(1 or 3, 3): of the path itself and of each number that slides, what centre, axis and far move can be at most."""
    flat = table.reshape(int(np.prod(table.shape[:-1])), -1, 3, 3)
    sums: Array = np.linalg.norm(flat, axis=3).sum(axis=0)
    return sums


def _cross_bound(one: Array, other: Array) -> float:
    """A bound of the cross product of two vectors of polynomials (size, ..., 3), by its own coefficients."""
    first, second = one, other
    back = []
    for i, size in enumerate(one.shape[:-1]):
        count = 2 * size - 1
        points = np.cos(np.pi * (np.arange(count) + 0.5) / count)
        at = chebyshev(points, size)
        first = np.moveaxis(np.tensordot(at, first, axes=(1, i)), 0, i)
        second = np.moveaxis(np.tensordot(at, second, axes=(1, i)), 0, i)
        back.append(transform(count))
    crossed = np.cross(first, second)
    for i, coefficients_of in enumerate(back):
        crossed = np.moveaxis(np.tensordot(coefficients_of, crossed, axes=(1, i)), 0, i)
    return float(np.linalg.norm(crossed.reshape(-1, 3), axis=1).sum())


def _trimmed(path: Path, reach_mm: float, drop_mm: float) -> Path:
    """The same path without the high polynomials that no longer matter; what is dropped joins the error."""
    table = path.coefficients.reshape((*path.sizes, -1))
    dropped = 0.0
    for i in range(len(path.sizes)):
        weight = sizes_mm(table, path.slide, reach_mm)
        tail = np.cumsum(np.moveaxis(weight, i, 0).reshape(table.shape[i], -1).sum(axis=1)[::-1])[::-1]
        keep = max(1, int(np.count_nonzero(tail > drop_mm)))
        if keep < table.shape[i]:
            dropped += float(tail[keep])
            table = np.take(table, np.arange(keep), axis=i)
    cut = _path(path.box, path.slide, np.ascontiguousarray(table), path.error_mm + dropped)
    return replace(cut, checked=path.checked)


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
