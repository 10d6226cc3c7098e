"""What can be wrong with a corner, as the judge sees it."""

from __future__ import annotations


class CannotStand(Exception):  # noqa: N818 - it says what happened
    """The corner cannot be assembled at a setting, or cannot be steered as far as it is asked to."""
