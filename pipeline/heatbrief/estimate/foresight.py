"""What a picture would show before there is one: the least difference, and what missing insulation would make."""

from __future__ import annotations

from heatbrief.detect.areas import SEED

WALL = (0.132, 0.180, 0.069, 0.060)
"""Layers of a frame wall besides its insulation, m2 K/W. Worked example of `scottish-6b`, see physics.transmittance."""
INSULATION, TIMBER, TIMBER_SHARE, EMPTY = 3.5, 3.5 / 3.0, 0.15, 0.18
"""Its insulation and timber, and a still air gap in place of the insulation, m2 K/W. Sources: scottish-6b, iso-6946."""
STARTING_PIXELS = 9


def smallest_difference(noise: float) -> float:
    """Least difference [K] between a spot of 3 x 3 pixels and an even surface at which the search starts an area.

    noise  standard deviation of one pixel [K], independent from pixel to pixel
    """
    result: float = SEED * noise / STARTING_PIXELS**0.5
    return result


def missing_insulation_contrast(inside: float, outside: float) -> float:
    """How much an empty bay of a frame wall differs from its sound part on the inside [K]; negative: colder.

    inside, outside  air temperatures in one unit, K or degC. Steady, with conventional films.
    Sources: scottish-6b (wall), iso-6946 (films, air gap).
    """
    from heatbrief.physics.surface_coefficients import ISO_RSE, ISO_RSI
    from heatbrief.physics.transmittance import combined_method, expected_inside_surface

    film = ISO_RSI["horizontal"]
    sound = combined_method([*WALL, [[1.0 - TIMBER_SHARE, INSULATION], [TIMBER_SHARE, TIMBER]]]).r_total
    empty = film + sum(WALL) + EMPTY + ISO_RSE
    surfaces = [float(expected_inside_surface(inside, outside, film, total)) for total in (empty, sound)]
    return surfaces[0] - surfaces[1]
