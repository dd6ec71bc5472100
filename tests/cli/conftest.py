"""Tests of the command as a person or another program meets it: words, files, exit codes, hostile input."""
