"""Scores that are run by hand and stand in DEVELOPERS.md; none is a test, though tests run some on a few scenes."""
