"""What a value must be before it is made: finite numbers, arrays of their shape, words.

Values are made once and used many times, so each looks at itself when it is made. Whoever makes one says which error it
is, and which key of a corner file it is about.
"""

from __future__ import annotations

import math
import numbers
from collections.abc import Sequence

from clearance.errors import InputError
from clearance.plain import echoed, is_unseen

FURTHEST = 1e7
"""Ten kilometres in millimetres: nothing about one wheel is further away, or turned further, than that."""


def shown(value: object) -> str:
    """A value as a message quotes it: words and numbers at most a line, others by what they are.

    >>> shown("a wall"), shown(None), shown([7.0])
    ("'a wall'", 'nothing', 'a list')
    """
    return echoed(value) if isinstance(value, (str, int, float, type(None))) else f"a {type(value).__name__}"


def a_number(
    value: object,
    what: str,
    error: type[InputError],
    *,
    least: float = -FURTHEST,
    most: float = FURTHEST,
    key: str = "",
) -> None:
    """Raise the error unless the value is one finite number between the ends.

    >>> a_number(3.0, "the thickness", InputError, least=0.0)
    """
    if isinstance(value, bool) or not isinstance(value, numbers.Real) or not math.isfinite(value):
        raise error(f"{what} is {shown(value)}; it must be a number.", key=key)
    size = float(value)
    if size < least:
        few = "it cannot be below zero" if least == 0 else f"it must be {least:g} or more"
        raise error(f"{what} is {size:g}; {few}.", key=key)
    if size > most:
        raise error(f"{what} is {size:g}; it must be {most:g} or less.", key=key)


def a_range(value: object, what: str, error: type[InputError], *, key: str = "") -> None:
    """Raise the error unless the value is two finite numbers, the least first."""
    if not isinstance(value, Sequence) or isinstance(value, str) or len(value) != 2:
        raise error(f"{what} is {shown(value)}; it must be a least and a greatest number.", key=key)
    for end in value:
        a_number(end, what, error, key=key)
    if value[0] > value[1]:
        raise error(f"{what} goes from {value[0]:g} to {value[1]:g}; the least comes first.", key=key)


def an_array(
    value: object, shape: tuple[int | None, ...], what: str, error: type[InputError], *, key: str = ""
) -> None:
    """Raise the error unless the value is an array of finite numbers of this shape; None stands for one or more."""
    found, kind = getattr(value, "shape", None), getattr(getattr(value, "dtype", None), "kind", "")
    like = ", ".join("n" if size is None else str(size) for size in shape)
    if not isinstance(found, tuple) or kind not in ("f", "i", "u"):
        raise error(f"{what}: {shown(value)} found; an array of ({like}) numbers belongs there.", key=key)
    if len(found) != len(shape) or any(size not in (None, has) for size, has in zip(shape, found, strict=True)):
        raise error(f"{what}: an array of {found} found; ({like}) belongs there.", key=key)
    if 0 in found:
        raise error(f"{what}: nothing is there; at least one belongs there.", key=key)
    _refuse_numbers(value, what, error, key)


def _refuse_numbers(value: object, what: str, error: type[InputError], key: str) -> None:
    """Numbers of an array that cannot be lengths or angles."""
    import numpy as np

    if not np.isfinite(value).all():  # type: ignore[call-overload]
        raise error(f"{what}: some of its numbers are no numbers (nan) or without end (inf).", key=key)
    if np.max(value) > FURTHEST or np.min(value) < -FURTHEST:  # type: ignore[call-overload]
        raise error(f"{what}: some of its numbers are too large to be millimetres of a car.", key=key)


def one_of(value: object, words: Sequence[str], what: str, error: type[InputError], *, key: str = "") -> None:
    """Raise the error unless the value is one of these words."""
    if not isinstance(value, str) or value not in words:
        raise error(f"{shown(value)} is not {what}. Write one of {', '.join(words)}.", key=key)


def a_word(value: object, what: str, error: type[InputError], *, key: str = "") -> None:
    """Raise the error unless the value is text of one line that can be printed."""
    if not isinstance(value, str) or not value.strip():
        raise error(f"{what} is {shown(value)}; it must be a word.", key=key)
    if any(map(is_unseen, value)):
        raise error(f"{what} has a line break, a tab or another sign that cannot be printed. Leave it out.", key=key)
