"""Tests of `heatbrief.manifest`: what may be written, and every mistake by its place. `broken/` holds manifests with
the message that each gets.
"""
