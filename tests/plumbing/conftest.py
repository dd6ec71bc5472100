"""Tests of the plumbing plugin on scenes with known truth and on published measurements."""
