"""Which tests each room is judged by: quick and sharp ones first, for the first that fails ends a trial."""

from __future__ import annotations

from dataclasses import dataclass

_SITUATIONS = "tests/gap/test_exact_situations.py"
_PIECES = "tests/envelope/test_envelope_by_hand.py"
_MEASURED = "tests/gap/test_measure.py"
_NOT_MEASURED = "tests/gap/test_not_measured.py"
_PARTS = "tests/well/test_parts.py"
_TAPED = "tests/well/test_parts_by_hand.py"
_SEARCHED = (_SITUATIONS, "tests/geom/test_reached.py")
"""Of the certified search, whose files are one thing to their tests."""
_OUTLINE = "tests/geom/test_profile_and_chain.py"


@dataclass(frozen=True, slots=True, kw_only=True)
class Room:
    """A module, the tests that cover it, and how many of its mutants `make mutants` tries."""

    module: str
    tests: tuple[str, ...]
    each: int


def _room(module: str, *tests: str, each: int = 40) -> Room:
    return Room(module=module, tests=tests, each=each)


ROOMS = (
    _room("clearance/units.py", "clearance/units.py", "tests/test_units.py", each=60),
    _room(
        "clearance/pose.py", "clearance/pose.py", "tests/test_pose.py", "tests/test_values_check_themselves.py", each=60
    ),
    _room("clearance/terms.py", "clearance/terms.py", "tests/test_terms.py", each=60),
    _room("clearance/geom/profile.py", "tests/geom/test_profile_by_hand.py", _OUTLINE, each=60),
    _room("clearance/geom/revolve.py", "tests/geom/test_revolve_by_hand.py", _OUTLINE),
    _room("clearance/geom/bounds.py", "tests/geom/test_bounds_by_hand.py", "tests/geom/test_mutants.py", each=20),
    _room("clearance/geom/bracket.py", "tests/geom/test_search_by_hand.py", *_SEARCHED, each=20),
    _room(
        "clearance/geom/search.py", "tests/geom/test_search_by_hand.py", *_SEARCHED, "tests/geom/test_depth.py", each=20
    ),
    _room("clearance/geom/witness.py", "tests/geom/test_search_by_hand.py", *_SEARCHED, each=20),
    *(
        _room(f"clearance/geom/{module}.py", "tests/geom/test_boxes_by_hand.py", *_SEARCHED, each=20)
        for module in ("split", "passing", "boxes")
    ),
    _room("clearance/gap/found.py", "clearance/gap/found.py", "tests/gap/test_found.py", each=60),
    _room("clearance/gap/measure.py", _MEASURED, _NOT_MEASURED),
    _room("clearance/gap/cycle.py", _MEASURED, _NOT_MEASURED),
    _room("clearance/gap/still.py", _MEASURED),
    _room("clearance/gap/map.py", _MEASURED),
    _room("clearance/beside.py", "tests/test_beside.py"),
    _room("clearance/envelope/build.py", _PIECES, "tests/envelope/test_envelope.py", each=20),
    _room("clearance/envelope/surface.py", _PIECES, "tests/envelope/test_envelope.py", each=20),
    _room("clearance/well/parts.py", _TAPED, _PARTS),
    _room("clearance/well/tub.py", _TAPED, _PARTS),
    _room("clearance/well/lip.py", _TAPED, _PARTS, "tests/test_values_check_themselves.py"),
    _room("clearance/well/cylinder.py", _TAPED, "tests/well/test_cylinder.py"),
)
