"""The mutants of a module, and a sample of them that a seed picks.

Cosmic Ray knows the places and makes the change. Of its kinds those are used that a hand could slip into. Passed over
are annotations, which nothing reads when the program runs, the words of decorators (frozen, slotted, by keyword), and
the bare star that ends positional arguments.
"""

from __future__ import annotations

import ast
import itertools
import random
import re
from dataclasses import dataclass

_BINARY = (
    "Add_Sub",
    "Sub_Add",
    "Mul_Div",
    "Div_Mul",
    "FloorDiv_Div",
    "Mod_Mul",
    "Pow_Mul",
    "BitAnd_BitOr",
    "BitOr_BitAnd",
)
_COMPARED = ("Lt_LtE", "Lt_GtE", "LtE_Lt", "LtE_Gt", "Gt_GtE", "Gt_LtE", "GtE_Gt", "GtE_Lt")
_COMPARED += ("Eq_NotEq", "NotEq_Eq", "Is_IsNot", "IsNot_Is")
_UNARY = ("USub_UAdd", "Delete_Not", "Delete_Invert")
OPERATORS = (
    *(f"core/ReplaceBinaryOperator_{pair}" for pair in _BINARY),
    *(f"core/ReplaceComparisonOperator_{pair}" for pair in _COMPARED),
    *(f"core/ReplaceUnaryOperator_{pair}" for pair in _UNARY),
    "core/AddNot",
    "core/ReplaceTrueWithFalse",
    "core/ReplaceFalseWithTrue",
    "core/ReplaceAndWithOr",
    "core/ReplaceOrWithAnd",
    "core/ReplaceBreakWithContinue",
    "core/ReplaceContinueWithBreak",
    "core/ExceptionReplacer",
    "core/NumberReplacer",
    "core/ZeroIterationForLoop",
)
"""A boundary moved, a sense turned round, a sign, a neighbouring operator, a number one off, a loop that never runs."""


Place = tuple[int, int]
Spot = tuple[str, int]
"""An operator, and which of its places in the module."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Mutant:
    """A module with one small change."""

    module: str
    operator: str
    source: str
    was: str
    """The lines that changed, stripped, before and after."""
    now: str
    line: int


def spots_of(source: str) -> list[Spot]:
    """Every spot of a module that an operator can change, in an order that depends on its text alone."""
    from cosmic_ray.ast import ast_nodes, get_ast
    from cosmic_ray.plugins import get_operator

    nodes = list(ast_nodes(get_ast(source)))
    passed_over = _passed_over(source)
    spots = []
    for name in OPERATORS:
        operator = get_operator(name)()
        places = [start for node in nodes for start, _ in operator.mutation_positions(node)]
        spots += [(name, i) for i, at in enumerate(places) if not any(low <= at < high for low, high in passed_over)]
    return spots


def sample_of(module: str, source: str, count: int | None, seed: int) -> list[Mutant]:
    """So many mutants of a module, or all of them; the same for the same seed and the same text."""
    from cosmic_ray.mutating import mutate_code
    from cosmic_ray.plugins import get_operator

    spots = spots_of(source)
    random.Random(f"{seed} {module}").shuffle(spots)
    mutants = (_mutant(module, name, source, mutate_code(source, get_operator(name)(), at)) for name, at in spots)
    return list(itertools.islice(mutants, count))


def _mutant(module: str, name: str, source: str, changed: str) -> Mutant:
    before, after = source.splitlines(), changed.splitlines()
    same = sum(1 for _ in itertools.takewhile(lambda pair: pair[0] == pair[1], zip(before, after, strict=False)))
    left, right = before[same:], after[same:]
    while left and right and left[-1] == right[-1]:
        left, right = left[:-1], right[:-1]
    was, now = (" ".join(line.strip() for line in lines) for lines in (left, right))
    return Mutant(module=module, operator=name.removeprefix("core/"), source=changed, was=was, now=now, line=same + 1)


def _passed_over(source: str) -> list[tuple[Place, Place]]:
    """From where to where (line, column) nothing is changed."""
    tree = ast.parse(source)
    found = [node for node in ast.walk(tree) if hasattr(node, "annotation") or hasattr(node, "decorator_list")]
    words = [word for node in found for word in _words_of(node)]
    ends = [((w.lineno, w.col_offset), (w.end_lineno or 0, w.end_col_offset or 0)) for w in words]
    lines = enumerate(source.splitlines(), 1)
    stars = [(number, m.start()) for number, line in lines for m in re.finditer(r"(?<![\w)\]] )\*(?=,)", line)]
    return ends + [(at, (at[0], at[1] + 1)) for at in stars]


def _words_of(node: ast.AST) -> list[ast.expr]:
    said = [getattr(node, "returns", None), getattr(node, "annotation", None), *getattr(node, "decorator_list", ())]
    return [word for word in said if word is not None]
