"""The table of the kinds of suspension: a kind is called by its own word, and no other is imported with it."""

from __future__ import annotations

import subprocess
import sys

from clearance.suspension.kinds.every import KINDS


def test_every_kind_is_found_by_its_own_word():
    assert {word: kind.name for word, kind in KINDS.items()} == {word: word for word in KINDS}
    assert "no such kind" not in KINDS


def test_a_kind_that_is_asked_for_imports_its_own_file_alone():
    code = """
import sys
from clearance.suspension.kinds.every import KINDS

KINDS["straight"]
print(*(f"clearance.suspension.kinds.{file}" in sys.modules for file in ("straight", "leaves")))
"""
    said = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout
    assert said.split() == ["True", "False"]
