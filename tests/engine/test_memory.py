"""Memory of one picture is used again for the next."""

from __future__ import annotations

import subprocess
import sys

import pytest

PROGRAM = """
import ctypes, resource
import numpy as np
from heatbrief.engine.memory import keep_memory

def faults(count):
    before = resource.getrusage(resource.RUSAGE_SELF).ru_minflt
    for _ in range(count):
        kept = [np.ones(2_000_000, np.float32) for _ in range(3)]
        del kept
    return resource.getrusage(resource.RUSAGE_SELF).ru_minflt - before

ctypes.CDLL(None).mallopt(-3, 128 << 10)  # what large arrays cost at the worst
ordinary = faults(20)
keep_memory()
faults(2)
print(ordinary, faults(20))
"""


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="the setting is one of the GNU C library")
def test_arrays_are_not_asked_for_anew():
    done = subprocess.run([sys.executable, "-c", PROGRAM], capture_output=True, text=True, check=True)
    ordinary, kept = map(int, done.stdout.split())
    assert kept < ordinary / 10, done.stdout
