"""Two threads that need the same library for the first time."""

from __future__ import annotations

import subprocess
import sys

import pytest

pytest.importorskip("uvicorn", reason="the page's extra is not installed")

CIRCLE = {
    "__init__.py": "import time\ntime.sleep(0.3)\nfrom circle.two import Two\n",
    "one.py": "import time\ntime.sleep(0.4)\nimport circle.two\nclass One: pass\n",
    "two.py": "import time\ntime.sleep(0.3)\nfrom circle.one import One\nclass Two: pass\n",
}
"""Its modules load one another in a circle, which one thread alone comes through, wherever it begins."""
TWO_THREADS = """
import sys, threading, time
from clearance_cli.page.loading import by_one_thread
if "alone" in sys.argv:
    by_one_thread()
    by_one_thread()
wrong = []
def whole():
    try:
        import circle
    except ImportError as trouble:
        wrong.append(trouble)
def one():
    try:
        from circle.one import One
    except ImportError as trouble:
        wrong.append(trouble)
threads = [threading.Thread(target=one) for one in (whole, one)]
for thread in threads:
    thread.start()
    time.sleep(0.05)
for thread in threads:
    thread.join()
print(wrong)
"""


def loaded(folder, *how: str) -> str:
    place = folder / "circle"
    place.mkdir()
    for name, text in CIRCLE.items():
        (place / name).write_text(text)
    done = subprocess.run(
        [sys.executable, "-c", TWO_THREADS, *how], cwd=folder, capture_output=True, text=True, check=True, timeout=60
    )
    return done.stdout.strip()


def test_who_comes_second_waits(tmp_path):
    assert loaded(tmp_path, "alone") == "[]"


def test_without_it_the_second_finds_half_of_it(tmp_path):
    """What the other test would not notice if the library above were none to fall over."""
    assert "partially initialized" in loaded(tmp_path)
