"""Tests of the pool plugin as its author would write them, with what heatbrief gives to authors."""
