"""What every test may use."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT / "tests"))


@pytest.fixture(scope="module")
def browser():
    """A real headless Chromium; with `chromium.IN_BROWSER` a file of tests is skipped where there is none."""
    from chromium import launched

    with launched() as chromium:
        yield chromium


def pytest_configure(config: pytest.Config) -> None:
    """Laws over random examples take fewer of them where the slow proofs are left out."""
    import share

    share.ALL = "not slow" not in config.option.markexpr
