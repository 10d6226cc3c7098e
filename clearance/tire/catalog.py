"""Standard tire sizes to choose from, and what another tire does to the speedometer and the ride height.

The built-in list says which sizes are made, on which rims they may go and what load they carry, each row with its
source; dimensions come from the marking unless the row carries its own. A user's list is a CSV with a column `size`,
and any of the others; measured dimensions there beat the marking.

* permitted rims - from the least to the greatest rim width, in the steps in which such rims are made
* speedometer    - reads turns of the wheel, so it is off by the ratio of rolling circumferences
* ride height    - the hub stands half the difference of diameters higher (both tires squashed alike)

Lengths are millimetres except rim codes, in inches; columns of the CSV carry their unit in their name.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources

from clearance.errors import FileError, TireError
from clearance.opener import records_in
from clearance.plain import quoted
from clearance.tire.dimensions import ROLLING_FACTOR, rim_widths_in
from clearance.tire.size import Marking, read
from clearance.units import MM_PER_INCH

COLUMNS = (
    "size",
    "load_index",
    "rim_least_in",
    "rim_most_in",
    "measured_rim_in",
    "section_width_mm",
    "overall_diameter_mm",
    "source",
)
MOST_SIZES = 5000
"""Of a user's list: ten times the built-in one."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Listed:
    """One size of a list."""

    marking: Marking
    rim_least_in: float | None = None
    rim_most_in: float | None = None
    measured_rim_in: float | None = None
    """The rim that a stated section width was measured on."""
    section_width_mm: float | None = None
    overall_diameter_mm: float | None = None
    load_index: int | None = None
    source: str = ""

    @property
    def size(self) -> str:
        """As it is written on the sidewall."""
        return self.marking.text

    def rim_widths_in(self) -> tuple[float, ...]:
        """The permitted rim widths that are made; empty where the list does not say."""
        if self.rim_least_in is None or self.rim_most_in is None:
            return ()
        return rim_widths_in(self.marking, self.rim_least_in, self.rim_most_in)


@cache
def standard_sizes() -> tuple[Listed, ...]:
    """The built-in list; every row says where it comes from."""
    text = resources.files("clearance.tire").joinpath("standard_sizes.csv").read_text(encoding="utf-8")
    return sizes_from_csv(text, name="the built-in list")


def sizes_from_csv(text: str, *, name: str) -> tuple[Listed, ...]:
    """A list of sizes from CSV text with a header.

    Raises TireError with the line, for a column that is not known, a size that cannot be read, or a number that is
    none.
    """
    try:
        header, records = records_in(text.lstrip("\ufeff"), name)
    except FileError as wrong:
        at = f": line {wrong.line}" if wrong.line else ""
        raise TireError(f"{name}{at}: {wrong.reason}") from None
    if "size" not in header:
        raise TireError(f"{name}: line 1 has no column `size`. Write a header: {','.join(COLUMNS)}.")
    for column in header:
        if column not in COLUMNS:
            raise TireError(f"{name}: line 1: the column {quoted(column)} is not known. Known: {', '.join(COLUMNS)}.")
    listed = tuple(_listed(row, f"{name}: line {line}") for line, row in records if row.get("size"))
    if not listed:
        raise TireError(f"{name}: there is no size in it. Write one size a line, as on the sidewall.")
    if len(listed) > MOST_SIZES:
        raise TireError(f"{name}: {len(listed):,} sizes are more than the {MOST_SIZES:,} that are gone through.")
    return listed


def _listed(row: Mapping[str, str], place: str) -> Listed:
    try:
        marking = read(row["size"])
    except TireError as refused:
        raise TireError(f"{place}: {refused}") from None
    load_index = _number(row, "load_index", place)
    one = Listed(
        marking=marking,
        rim_least_in=_number(row, "rim_least_in", place),
        rim_most_in=_number(row, "rim_most_in", place),
        measured_rim_in=_number(row, "measured_rim_in", place),
        section_width_mm=_number(row, "section_width_mm", place),
        overall_diameter_mm=_number(row, "overall_diameter_mm", place),
        load_index=marking.load_index if load_index is None else int(load_index),
        source=row.get("source") or "the user's list",
    )
    if one.rim_least_in is not None and one.rim_most_in is not None and one.rim_least_in > one.rim_most_in:
        raise TireError(f"{place}: rim_least_in {one.rim_least_in:g} is more than rim_most_in {one.rim_most_in:g}.")
    return one


def _number(row: Mapping[str, str], column: str, place: str) -> float | None:
    text = row.get(column, "")
    if not text:
        return None
    try:
        value = float(text)
    except ValueError:
        value = -1.0
    if not 0 < value < 1e5:
        raise TireError(
            f"{place}: {column} is {quoted(text)}. Write a plain positive number; the unit is in the column's name."
        )
    return value


def rolling_circumference_mm(overall_diameter_mm: float, *, radial: bool = True) -> float:
    """How far one turn goes, loaded: 3.05 D for a radial, 2.99 D for a bias tire (UN R30 and ETRTO, from memory)."""
    return ROLLING_FACTOR[radial] * overall_diameter_mm


def turns_per_km(circumference_mm: float) -> float:
    """Turns of the wheel in a kilometre.

    >>> round(turns_per_km(rolling_circumference_mm(652)), 1)
    502.9
    """
    return 1e6 / circumference_mm


def speedometer_change(old_circumference_mm: float, new_circumference_mm: float) -> float:
    """By what fraction the true speed grows at one and the same reading; positive means that it now reads low.

    >>> round(speedometer_change(1988.6, 2049.6), 4)
    0.0307
    """
    return new_circumference_mm / old_circumference_mm - 1.0


def ride_height_change_mm(old_diameter_mm: float, new_diameter_mm: float) -> float:
    """How much higher the hub stands: half the difference of diameters."""
    return (new_diameter_mm - old_diameter_mm) / 2


def inches_text(diameter_mm: float) -> str:
    """A diameter in decimal inches, as truck tires are compared."""
    return f"{diameter_mm / MM_PER_INCH:.1f} in"
