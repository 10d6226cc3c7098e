"""Rows of numbers that are the same made one: the corners that triangles share, as vertices."""

from __future__ import annotations

import numpy as np

from clearance.geom.profile import Array

Ints = np.ndarray

_MIX = (0x9E3779B97F4A7C15, 0xBF58476D1CE4E5B9, 0x94D049BB133111EB)
_SEEDS = (0, 1, 2)
_BLOCK = 1 << 18


def each_once(rows: Array) -> tuple[Ints, Ints]:
    """The first of each different row of (n, k), in the order of their numbers, and for every row (n,) which it is.

    As `numpy.unique` of rows, which compares them number by number while it sorts and takes five times as long. Here
    each row is mixed into one number, and only what differs is sorted by its own.
    """
    for seed in _SEEDS:
        first, which = _by_mixed(_mixed(rows, seed))
        if _each_is(rows, first, which):
            break
    else:  # two rows with one mixed number, again and again: the slow way
        _, first, which = np.unique(rows + 0, axis=0, return_index=True, return_inverse=True)
        return first, which.reshape(-1)
    order = _in_order(rows[first])
    rank = np.empty(len(order), dtype=np.intp)
    rank[order] = np.arange(len(order))
    return first[order], rank[which]


def _each_is(rows: Array, first: Ints, which: Ints) -> bool:
    """Is every row the one that it is said to be?"""
    return all(
        np.array_equal(rows[first[which[at : at + _BLOCK]]], rows[at : at + _BLOCK])
        for at in range(0, len(rows), _BLOCK)
    )


def _in_order(rows: Array) -> Ints:
    """The order of rows by their numbers: the second and those after it are asked only where the first ties."""
    order = np.argsort(rows[:, 0], kind="stable")
    first = rows[order, 0]
    same = first[1:] == first[:-1]
    tied = np.flatnonzero(np.append(same, False) | np.append(False, same))
    own = order[tied]
    order[tied] = own[np.lexsort(rows[own].T[::-1])]
    return order


def numbers_once(numbers: Ints) -> Ints:
    """Each of these numbers (n,) once, in their order; `numpy.unique` reads its masked arrays first, at every start."""
    numbers = np.sort(numbers)
    new = np.append(np.ones(len(numbers[:1]), dtype=bool), numbers[1:] != numbers[:-1])
    once: Ints = numbers[new]
    return once


def _mixed(rows: Array, seed: int) -> Ints:
    """(n,): a number of each row that rows with the same numbers share; a negative zero is a zero."""
    mixed = np.full(len(rows), seed, dtype=np.uint64)
    with np.errstate(over="ignore"):
        for at in range(0, len(rows), _BLOCK):
            bits = np.ascontiguousarray(rows[at : at + _BLOCK] + 0).view(np.uint64)
            some = mixed[at : at + _BLOCK]
            for column in range(bits.shape[1]):
                some ^= (some >> np.uint64(29)) ^ bits[:, column]
                some *= np.uint64(_MIX[column % len(_MIX)])
    return mixed


def _by_mixed(mixed: Ints) -> tuple[Ints, Ints]:
    """The first row of each mixed number's upper part, and for every row which it is; `mixed` is used up.

    The lower part holds the row's own place while they are sorted: numbers alone are sorted five times as fast as an
    order of them is found.
    """
    count = len(mixed)
    low = np.uint64(count.bit_length())
    mixed >>= low
    mixed <<= low
    mixed |= np.arange(count, dtype=np.uint64)
    mixed.sort()
    order = (mixed & ((np.uint64(1) << low) - np.uint64(1))).astype(np.intp)
    mixed >>= low
    begins = np.append(np.ones(len(mixed[:1]), dtype=bool), mixed[1:] != mixed[:-1])
    number = np.cumsum(begins, dtype=np.int32)
    number -= 1
    which = np.empty(count, dtype=np.int32)
    which[order] = number
    return order[begins], which
