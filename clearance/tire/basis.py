"""What a tire's dimension stands on, from sure to cautious."""

from __future__ import annotations

from enum import StrEnum


class Basis(StrEnum):
    """A dimension that is not measured is a standard's, a table's, or an upper bound; never a middle guess."""

    MEASURED = "measured"
    """Taken from the tire itself, or stated of it."""
    STANDARD = "standard"
    """By the standard's formula: what the marking means."""
    TABLE = "table"
    """The largest of the published rows of the marking."""
    BOUND = "bound"
    """As large as such tires come; the tire itself is probably smaller."""
