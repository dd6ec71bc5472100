"""Tests of `heatbrief.pages`: single pages in the frame of the site."""
