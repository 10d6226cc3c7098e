"""Rows of numbers that are the same made one: the corners that triangles share, as vertices."""

from __future__ import annotations

import numpy as np

from clearance.geom.profile import Array

Ints = np.ndarray

_MIX = (0x9E3779B97F4A7C15, 0xBF58476D1CE4E5B9, 0x94D049BB133111EB)
_BLOCK = 1 << 18


def each_once(rows: Array) -> tuple[Ints, Ints]:
    """The first of each different row of (n, k), in the order of their numbers, and for every row (n,) which it is.

    As `numpy.unique` of rows, which compares them number by number while it sorts and takes five times as long. Here
    each row is mixed into one number, and only what differs is sorted by its own.
    """
    first, which = _by_mixed(_mixed(rows))
    if not all(
        np.array_equal(rows[first[which[at : at + _BLOCK]]], rows[at : at + _BLOCK])
        for at in range(0, len(rows), _BLOCK)
    ):  # two rows with one mixed number: the slow way
        _, first, which = np.unique(rows + 0, axis=0, return_index=True, return_inverse=True)
        return first, which.reshape(-1)
    order = np.lexsort(rows[first].T[::-1])
    rank = np.empty(len(order), dtype=np.intp)
    rank[order] = np.arange(len(order))
    return first[order], rank[which]


def numbers_once(numbers: Ints) -> Ints:
    """Each of these numbers (n,) once, in their order; `numpy.unique` reads its masked arrays first, at every start."""
    numbers = np.sort(numbers)
    new = np.append(np.ones(len(numbers[:1]), dtype=bool), numbers[1:] != numbers[:-1])
    once: Ints = numbers[new]
    return once


def _mixed(rows: Array) -> Ints:
    """(n,): a number of each row that rows with the same numbers share; a negative zero is a zero."""
    mixed = np.zeros(len(rows), dtype=np.uint64)
    with np.errstate(over="ignore"):
        for at in range(0, len(rows), _BLOCK):
            bits = np.ascontiguousarray(rows[at : at + _BLOCK] + 0).view(np.uint64)
            some = mixed[at : at + _BLOCK]
            for column in range(bits.shape[1]):
                some ^= (some >> np.uint64(29)) ^ bits[:, column]
                some *= np.uint64(_MIX[column % len(_MIX)])
    return mixed


def _by_mixed(mixed: Ints) -> tuple[Ints, Ints]:
    order = np.argsort(mixed, kind="stable")
    begins = np.ones(len(mixed), dtype=bool)
    for at in range(1, len(mixed), _BLOCK):
        some = mixed[order[at - 1 : at + _BLOCK]]
        begins[at : at + _BLOCK] = some[1:] != some[:-1]
    del mixed
    number = np.cumsum(begins, dtype=np.int32)
    number -= 1
    which = np.empty(len(order), dtype=np.int32)
    which[order] = number
    return order[begins], which
