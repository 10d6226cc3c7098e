"""A few mutants of the quick rooms, of a seed that `make mutants` does not use: does a test notice them?"""

from __future__ import annotations

import subprocess
import sys

import pytest

from tests.mutation import figures
from tests.mutation.rooms import ROOMS
from tests.mutation.trial import ROOT

QUICK = ("units", "pose", "terms", "profile", "found", "still", "cylinder", "parts", "lip")


@pytest.mark.slow
@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="trials are forked on Linux alone")
def test_of_a_small_sample_nine_in_ten_are_noticed():
    pytest.importorskip("cosmic_ray", reason="the extra `mutation` is not installed")
    command = [sys.executable, "-m", "tests.mutation", "--seed", "20", "--each", "5", "--at-once", "1", *QUICK]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr


def test_every_room_names_a_module_and_tests_that_are_there():
    for room in ROOMS:
        assert (ROOT / room.module).is_file(), room.module
        assert room.tests
        for test in room.tests:
            assert (ROOT / test).is_file(), test


def test_every_explanation_is_of_a_line_that_is_still_there():
    """Else it explains nothing any more, and might excuse what it was not meant for."""
    for row in figures.explained():
        assert row["why"]
        lines = {line.strip() for line in (ROOT / row["module"]).read_text().splitlines()}
        assert row["was"] in lines, row["was"]


def test_the_page_says_what_was_found():
    assert figures.PAGE.read_text() == figures.page()
