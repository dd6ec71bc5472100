"""Property tests here are judged by their result, never by how long one example takes."""

from __future__ import annotations

from hypothesis import settings

settings.register_profile("physics", deadline=None, derandomize=True)
settings.load_profile("physics")
