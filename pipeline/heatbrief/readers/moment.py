"""The moment a picture was taken, from a TIFF 6.0 DateTime tag or from the file's name. No other tag is read."""

from __future__ import annotations

import re
from datetime import datetime

_NAME = re.compile(
    r"(?<!\d)((?:19|20)\d\d)[-_.]?(\d\d)[-_.]?(\d\d)[T_ -]?(\d\d)[-_.:h]?(\d\d)[-_.:m]?(\d\d)(?:[.,](\d{1,6}))?(?!\d)"
)
_TAG = re.compile(r"(\d{4}):(\d\d):(\d\d) (\d\d):(\d\d):(\d\d)\x00?")


def from_name(stem: str) -> str:
    """ISO 8601 moment in a file name without its ending ("view1_2022-08-03T13-48-18.19"), or ""."""
    for found in _NAME.finditer(stem[:300]):
        moment = _iso(found.groups()[:6])
        if moment:
            return f"{moment}.{found[7]}" if found[7] else moment
    return ""


def from_tag(value: object) -> str:
    """ISO 8601 moment of a DateTime tag ("2022:08:03 13:48:18"), or ""."""
    found = _TAG.fullmatch(value.strip()) if isinstance(value, str) and len(value) < 40 else None
    return _iso(found.groups()) if found else ""


def _iso(parts: tuple[str, ...]) -> str:
    try:
        year, month, day, hour, minute, second = (int(part) for part in parts)
        return datetime(year, month, day, hour, minute, second).isoformat()
    except ValueError:
        return ""
