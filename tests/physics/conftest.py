"""Tests of `heatbrief.physics`: properties, limits, independent libraries; values of sources stand in `published/`."""
