"""Tests of `heatbrief.readers`: known pictures of counts and texts, read back, and files that are not what they say."""

from __future__ import annotations

import numpy as np
import pytest
from heatbrief.api import Context, NoSettings, View
from heatbrief.errors import StepError
from heatbrief.model.thermogram import Picture
from heatbrief.readers import STEPS

BY_SUFFIX = {suffix: step for step in STEPS for suffix in step.suffixes}


@pytest.fixture
def counts() -> np.ndarray:
    """48 x 64 whole counts that use the 16-bit range."""
    return np.random.default_rng(7).integers(0, 65536, (48, 64)).astype(np.uint16)


@pytest.fixture
def read():
    """Read a file with the step for its ending; keyword arguments describe the view."""

    def run(path, **view) -> Picture:
        (picture,) = BY_SUFFIX[path.suffix].run(path, NoSettings(), Context(view=View(**view)))
        return picture

    return run


@pytest.fixture
def refused(read):
    """The code of the StepError that reading a file ends with."""

    def run(path, **view) -> str:
        with pytest.raises(StepError) as caught:
            read(path, **view)
        assert caught.value.message
        return caught.value.code

    return run
