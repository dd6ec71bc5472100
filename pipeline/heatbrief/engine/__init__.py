"""Manifest in, results document out: plan, execute, assemble."""
