"""Tests of `heatbrief.estimate`: energy, money and the plan of work against published and independent sums."""
