"""Which tests each room is judged by: quick and sharp ones first, for the first that fails ends a trial."""

from __future__ import annotations

from dataclasses import dataclass

_SITUATIONS = "tests/gap/test_exact_situations.py"
_LAWS = "tests/gap/test_gap_laws.py"
_PARTS = "tests/well/test_parts.py"
_OUTLINE = "tests/geom/test_profile_and_chain.py"


@dataclass(frozen=True, slots=True, kw_only=True)
class Room:
    """A module, the tests that cover it, and how many of its mutants `make mutants` tries."""

    module: str
    tests: tuple[str, ...]
    each: int


def _room(module: str, *tests: str, each: int = 60) -> Room:
    return Room(module=module, tests=tests, each=each)


ROOMS = (
    _room("clearance/units.py", "clearance/units.py", "tests/test_units.py", each=160),
    _room("clearance/pose.py", "tests/test_pose.py", "tests/test_values_check_themselves.py", each=149),
    _room("clearance/terms.py", "clearance/terms.py", "tests/test_terms.py", each=146),
    _room("clearance/geom/profile.py", _OUTLINE, each=100),
    _room("clearance/geom/revolve.py", _OUTLINE, "tests/geom/test_depth.py"),
    _room(
        "clearance/geom/bracket.py",
        "tests/geom/test_reached.py",
        "tests/geom/test_mutants.py",
        _SITUATIONS,
        "tests/geom/test_depth.py",
        "tests/gap/test_gap_laws.py",
    ),
    _room("clearance/gap/found.py", "clearance/gap/found.py", "tests/gap/test_found.py", each=67),
    _room("clearance/gap/measure.py", _SITUATIONS, _LAWS),
    _room("clearance/gap/cycle.py", _LAWS),
    _room("clearance/gap/still.py", _LAWS),
    _room("clearance/gap/map.py"),
    _room("clearance/envelope/beside.py"),
    _room("clearance/envelope/build.py", "tests/envelope/test_envelope.py"),
    _room("clearance/envelope/surface.py", "tests/envelope/test_envelope.py"),
    _room("clearance/well/parts.py", _PARTS, each=80),
    _room("clearance/well/tub.py", _PARTS, each=80),
    _room("clearance/well/lip.py", _PARTS, each=80),
    _room("clearance/well/cylinder.py", "tests/well/test_cylinder.py"),
)
