"""Tests of whole runs on openly licensed measurements, against the values recorded beside them."""
