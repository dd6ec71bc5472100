"""Tests of the demonstration in `surveys/`: its pictures are those of its scenes."""
