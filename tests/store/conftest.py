"""Tests of `heatbrief.store`: what lasts comes back as it was, and what is damaged is noticed."""
