"""Tests of `heatbrief.testing`: the scenes and the imager that other tests take their truth from."""
