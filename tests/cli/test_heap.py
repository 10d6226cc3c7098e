"""What a command gives back to the system, in a process of its own: the heap of a test run is nobody's."""

from __future__ import annotations

import platform
import subprocess
import sys

import pytest

GLIBC = platform.libc_ver()[0] == "glibc"
RESIDENT = """
from threading import Thread

from clearance_cli import heap


def resident_mb():
    with open("/proc/self/statm") as statm:
        return int(statm.read().split()[1]) * 4096 / 1e6


"""
GIVEN_BACK = (
    RESIDENT
    + """
heap.few_arenas()
kept = []


def fill():
    # too small to be a mapping of their own; one of every hundred stays, as a cache's would
    blocks = [bytes(20_000) for _ in range(6000)]
    kept.extend(blocks[::100])


threads = [Thread(target=fill) for _ in range(4)]
for thread in threads:
    thread.start()
for thread in threads:
    thread.join()
before = resident_mb()
heap.idle_given_back()
print(before, resident_mb())
"""
)
ARRAYS = (
    RESIDENT
    + """
heap.large_WAY()
kept, arrays = [], []
for _ in range(20):
    arrays.append(bytearray(8_000_000))
    # what is small and stays lies between, as what is found does
    kept.append([bytes(40_000) for _ in range(10)])
arrays.clear()
print(resident_mb())
"""
)


@pytest.mark.skipif(not GLIBC, reason="the C library here keeps its own counsel")
def test_what_nothing_uses_goes_back_to_the_system():
    """Of 4 x 120 MB a hundredth is kept, 5 MB; Python and the command take less than 60."""
    said = subprocess.run([sys.executable, "-c", GIVEN_BACK], capture_output=True, text=True, check=True).stdout
    _, after = map(float, said.split())
    assert after < 80.0


@pytest.mark.skipif(not GLIBC, reason="the C library here keeps its own counsel")
def test_the_arrays_of_a_large_scan_go_back_at_once_and_others_are_kept():
    """20 x 8 MB; Python, the command and what stays take less than 60."""
    apart, kept = (
        float(subprocess.run([sys.executable, "-c", text], capture_output=True, text=True, check=True).stdout)
        for text in (ARRAYS.replace("WAY", way) for way in ("apart", "kept"))
    )
    assert apart < 60.0
    assert kept > 160.0


def test_a_c_library_without_such_words_is_left_to_itself():
    from clearance_cli.heap import _of_libc

    assert _of_libc("no such function of any library") is None
