"""A real headless Chromium, for every test that looks at a page as a person does."""

from __future__ import annotations

import shutil
import warnings
from collections.abc import Iterator
from contextlib import contextmanager

import pytest

CHROMIUM = next((p for name in ("chromium", "chromium-browser", "google-chrome") if (p := shutil.which(name))), None)
SWITCHES = [
    "--no-sandbox",
    "--use-angle=swiftshader",
    "--enable-unsafe-swiftshader",
    "--ignore-gpu-blocklist",
    "--disable-gpu-compositing",
    "--disable-quic",
    "--disable-background-networking",
]
needs_chromium = pytest.mark.skipif(CHROMIUM is None, reason="no Chromium here: apt-get install chromium")
# playwright leaves its pipes to the collector
leaves_pipes = pytest.mark.filterwarnings("ignore::ResourceWarning")
IN_BROWSER = [needs_chromium, leaves_pipes]


@contextmanager
def launched() -> Iterator:
    """One browser; the test is skipped where playwright is not installed."""
    sync_api = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
    with warnings.catch_warnings(), sync_api.sync_playwright() as play:
        warnings.simplefilter("ignore")
        chromium = play.chromium.launch(executable_path=CHROMIUM, args=SWITCHES)
        yield chromium
        chromium.close()
