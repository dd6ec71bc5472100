"""Emissivity of common materials by name, and how emissivity changes with the viewing angle."""

from __future__ import annotations

import difflib
import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from importlib import resources
from types import MappingProxyType
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from heatbrief.arrays import FloatArray

TRUST_BELOW = 0.6
_TABLE = "emissivity.yaml"


@dataclass(frozen=True)
class Material:
    """Normal long-wave emissivity of a material: range, value to use, and where they come from."""

    name: str
    low: float
    high: float
    typical: float
    kind: Literal["metal", "nonmetal"]
    mark: str
    source: str
    aliases: tuple[str, ...] = ()

    @property
    def standard_uncertainty(self) -> float:
        """The range taken as a rectangle: half its width over sqrt(3)."""
        return (self.high - self.low) / 2.0 / math.sqrt(3.0)

    @property
    def readable(self) -> bool:
        """Whether the emissivity is high enough to read a temperature from the bare surface at all. Source: emissivity-trust."""
        return self.typical >= TRUST_BELOW


class UnknownMaterial(LookupError):
    """No material of that name; `suggestions` holds the nearest names."""

    def __init__(self, name: str, suggestions: tuple[str, ...]) -> None:
        hint = f"; did you mean {' or '.join(repr(one) for one in suggestions)}?" if suggestions else ""
        super().__init__(f"no emissivity is known for {name!r}{hint}")
        self.name = name
        self.suggestions = suggestions


@lru_cache(maxsize=1)
def materials() -> Mapping[str, Material]:
    """All materials by their main name, in the order of the table, whose head names the sources. Read once."""
    import yaml

    text = resources.files(__package__).joinpath(_TABLE).read_text(encoding="utf-8")
    table = {}
    for name, entry in yaml.load(text, getattr(yaml, "CSafeLoader", yaml.SafeLoader)).items():
        aliases = tuple(entry.pop("aliases", ()))
        table[name] = Material(name=name, aliases=aliases, **entry)
    return MappingProxyType(table)


@lru_cache(maxsize=1)
def _names() -> Mapping[str, Material]:
    index: dict[str, Material] = {}
    for material in materials().values():
        for name in (material.name, *material.aliases):
            key = _plain(name)
            if key in index:
                raise ValueError(f"{_TABLE}: {name!r} names both {index[key].name!r} and {material.name!r}")
            index[key] = material
    return MappingProxyType(index)


def _plain(name: str) -> str:
    return " ".join(name.casefold().replace("-", " ").replace("_", " ").replace(",", " ").split())


def find_material(name: str) -> Material:
    """The material of a name or alias, whatever its case, hyphens and spaces; UnknownMaterial suggests near names."""
    index = _names()
    key = _plain(name[:200])
    if key in index:
        return index[key]
    near = difflib.get_close_matches(key, index, n=3, cutoff=0.6)
    raise UnknownMaterial(name, tuple(dict.fromkeys(near)))


def fresnel_emissivity(angle_deg: ArrayLike, n: float, k: float = 0.0) -> FloatArray:
    """Directional emissivity of an opaque smooth surface of refractive index n - ik at an angle from its normal.

    Shape of the angle, 0 to 90 degrees (else ValueError); a share, 0..1, averaged over polarisations. Source: fresnel.
    """
    angle = np.radians(np.asarray(angle_deg, dtype=np.float64))
    if np.any((angle < 0.0) | (angle > math.pi / 2 + 1e-12)):
        raise ValueError("the viewing angle is 0 to 90 degrees from the normal")
    index = complex(n, -k)
    cosine, sine2 = np.cos(angle), np.sin(angle) ** 2
    inside = np.sqrt(index**2 - sine2)
    perpendicular = np.abs((cosine - inside) / (cosine + inside)) ** 2
    parallel = np.abs((index**2 * cosine - inside) / (index**2 * cosine + inside)) ** 2
    result: FloatArray = 1.0 - 0.5 * (perpendicular + parallel)
    return result


def hemispherical_emissivity(n: float, k: float = 0.0) -> float:
    """Hemispherical emissivity of an opaque smooth surface: the directional one weighted with its cosine, 0..1."""
    points, weights = np.polynomial.legendre.leggauss(400)
    angle = (points + 1.0) * 45.0
    value = fresnel_emissivity(angle, n, k) * np.sin(2.0 * np.radians(angle))
    return float(np.sum(weights * value) * math.pi / 4.0)


def index_from_normal(emissivity: float) -> float:
    """Refractive index n >= 1 of the dielectric with this normal emissivity (inverse of 4 n/(n + 1)^2).

    Raises ValueError unless the emissivity is above 0 and not above 1.
    """
    if not 0.0 < emissivity <= 1.0:
        raise ValueError(f"emissivity must be above 0 up to 1, got {emissivity}")
    root = math.sqrt(1.0 - emissivity)
    return (1.0 + root) / (1.0 - root)


def angle_factor(angle_deg: ArrayLike, emissivity: float) -> FloatArray:
    """Emissivity of a non-metal at an angle over its normal emissivity, taken as a smooth dielectric.

    Shape of the angle, 0 to 90 degrees from the normal; ValueError outside that, or for an emissivity outside (0, 1].
    """
    return fresnel_emissivity(angle_deg, index_from_normal(emissivity)) / emissivity
