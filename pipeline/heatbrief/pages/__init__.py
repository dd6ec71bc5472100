"""Single pages that need no other file, in the frame and style of the site: the comparison, the shot list."""

from __future__ import annotations

from heatbrief.pages.single import single_page

__all__ = ["single_page"]
