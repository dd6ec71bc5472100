"""The reader, the calibration, and the contract."""

from __future__ import annotations

import numpy as np
import pytest
from heatbrief.api import StepError
from heatbrief.testing import check_plugin, run_step


def test_tenths_become_kelvin(tmp_path):
    (tmp_path / "a.tenths").write_text("215 220\n230 -5\n", "ascii")
    (picture,) = run_step("pool.tenths", tmp_path / "a.tenths")
    assert picture.kelvin and picture.values.tolist() == pytest.approx(np.array([[294.65, 295.15], [296.15, 272.65]]))


def test_other_files_are_refused(tmp_path):
    (tmp_path / "a.tenths").write_text("215 220\n230\n", "ascii")
    with pytest.raises(StepError):
        run_step("pool.tenths", tmp_path / "a.tenths")


def test_the_contract_is_kept():
    assert [str(fault) for fault in check_plugin("pool")] == []
