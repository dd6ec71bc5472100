"""From pixels to metres: field of view, tilt, plane-to-plane mapping, areas, and what a small target reads.

Pixel coordinates are (x, y) with the centre of the first pixel at (0, 0).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from heatbrief.arrays import FloatArray

LEAST_PIXELS_PRACTICE = 3  # Source: three-pixel-rule
LEAST_PIXELS_MEASURED = 10  # Sources: pusnik-gersak-2021, budzier-gerlach-2021
_EDGE_BLUR_DEFAULT = 0.5


def field_of_view_deg(pixels: int, pitch_um: float, focal_mm: float) -> float:
    """Full angle of view in degrees along one axis of a rectilinear lens; pitch of a pixel in um, focal length in mm."""
    return math.degrees(2.0 * math.atan(pixels * pitch_um * 1e-3 / (2.0 * focal_mm)))


def centre_ifov_mrad(pitch_um: float, focal_mm: float) -> float:
    """Angle of the central pixel in mrad."""
    return pitch_um / focal_mm


def ifov_from_field_mrad(field_deg: float, pixels: int) -> float:
    """Angle of the central pixel in mrad from the field of view; dividing the angle by the pixels gives too little."""
    return 2000.0 * math.tan(math.radians(field_deg) / 2.0) / pixels


@dataclass(frozen=True)
class Footprint:
    """What a picture covers on a plane that faces the imager: metres, square metres."""

    width_m: float
    height_m: float
    pixel_width_m: float
    pixel_height_m: float

    @property
    def pixel_area_m2(self) -> float:
        """Area of one pixel on a surface that faces the camera, m2."""
        return self.pixel_width_m * self.pixel_height_m


def footprint(distance_m: float, field_deg: tuple[float, float], pixels: tuple[int, int]) -> Footprint:
    """Footprint at a distance for (horizontal, vertical) field of view in degrees and (columns, rows)."""
    if not (distance_m > 0.0 and all(0.0 < angle < 180.0 for angle in field_deg) and min(pixels) > 0):
        raise ValueError("distance and pixels must be above 0 and fields of view between 0 and 180 degrees")
    width, height = (2.0 * distance_m * math.tan(math.radians(angle) / 2.0) for angle in field_deg)
    return Footprint(width, height, width / pixels[0], height / pixels[1])


def tilt_area_factor(tilt_deg: ArrayLike) -> FloatArray:
    """True area over area seen, for a surface whose normal is tilted away from the line of sight.

    Shape of the angle [deg]; 1 / cos, so it grows without bound towards 90 degrees.
    """
    return 1.0 / np.cos(np.radians(np.asarray(tilt_deg, dtype=np.float64)))


def slant_factor(off_axis_deg: ArrayLike) -> FloatArray:
    """Slant range over distance for a point off the axis on a facing plane; pixel area on the plane does not change."""
    return 1.0 / np.cos(np.radians(np.asarray(off_axis_deg, dtype=np.float64)))


def off_axis_irradiance(off_axis_deg: ArrayLike) -> FloatArray:
    """Natural fall-off of irradiance on the detector, cos^4 of the angle [deg]; a share of that on the axis, 0..1."""
    return np.cos(np.radians(np.asarray(off_axis_deg, dtype=np.float64))) ** 4


@dataclass(frozen=True)
class Homography:
    """Plane-to-plane mapping and the rms residual of its points in target units.

    h33 = 1 unless the picture's first pixel lies at or beyond the horizon of the plane.
    """

    matrix: FloatArray
    residual: float

    def map(self, points: ArrayLike) -> FloatArray:
        """Mapped points, shape (..., 2); NaN for points at or behind the horizon."""
        xy = np.asarray(points, dtype=np.float64)
        m = self.matrix
        w = xy @ m[2, :2] + m[2, 2]
        with np.errstate(divide="ignore", invalid="ignore"):
            mapped = (xy @ m[:2, :2].T + m[:2, 2]) / w[..., None]
        return np.where((w > 0.0)[..., None], mapped, np.nan)

    def scale(self, points: ArrayLike) -> FloatArray:
        """Local area scale |det H| / w^3 in target units squared per square pixel, shape (...)."""
        xy = np.asarray(points, dtype=np.float64)
        w = xy @ self.matrix[2, :2] + self.matrix[2, 2]
        with np.errstate(divide="ignore"):
            return np.where(w > 0.0, abs(float(np.linalg.det(self.matrix))) / np.abs(w) ** 3, np.nan)[()]

    def pixel_areas(self, rows: int, columns: int) -> FloatArray:
        """Area of every pixel of a picture on the plane, shape (rows, columns)."""
        y, x = np.mgrid[0:rows, 0:columns]
        return self.scale(np.stack([x, y], axis=-1))

    def polygon_area(self, outline: ArrayLike) -> float:
        """Area on the plane of a polygon drawn in the picture (exact: straight lines stay straight).

        outline (n, 2) in pixels, the area in target units squared; NaN when it reaches the horizon of the plane.
        """
        return polygon_area(self.map(outline))


def fit_homography(image: ArrayLike, plane: ArrayLike) -> Homography:
    """Homography from at least four point pairs, shapes (n, 2): normalised direct linear transform, least squares. Source: homography.

    ValueError for fewer points, points that are not finite, three of four in one line, or a corner behind the imager.
    """
    source, target = np.asarray(image, dtype=np.float64), np.asarray(plane, dtype=np.float64)
    if source.shape != target.shape or source.ndim != 2 or source.shape[1] != 2 or len(source) < 4:
        raise ValueError("a plane needs at least four points (x, y), each with its place on the plane")
    if not (np.all(np.isfinite(source)) and np.all(np.isfinite(target))):
        raise ValueError("points must be finite numbers")
    from_image, from_plane = _normaliser(source), _normaliser(target)
    a, b = _apply(from_image, source), _apply(from_plane, target)
    _, singular, vectors = np.linalg.svd(_equations(a, b))
    middle = vectors[-1].reshape(3, 3)
    if singular[7] <= 1e-9 * singular[0] or abs(np.linalg.det(middle)) < 1e-9 * np.abs(middle).max() ** 3:
        raise ValueError("the points do not fix a plane: three of them lie on one line, or two are the same")
    matrix = np.linalg.inv(from_plane) @ middle @ from_image
    depth = source @ matrix[2, :2] + matrix[2, 2]
    if not (np.all(depth > 0.0) or np.all(depth < 0.0)):
        raise ValueError("the points are in a different order in the picture and on the plane")
    origin = matrix[2, 2] / depth.mean()
    matrix = matrix / (matrix[2, 2] if origin > 1e-6 else depth.mean())
    found = Homography(matrix, 0.0)
    error = found.map(source) - target
    return Homography(matrix, float(np.sqrt(np.mean(np.sum(error**2, axis=1)))))


def _normaliser(points: FloatArray) -> FloatArray:
    centre = points.mean(axis=0)
    size = float(np.mean(np.hypot(*(points - centre).T)))
    if size == 0.0:
        raise ValueError("the points do not fix a plane: all are the same")
    s = math.sqrt(2.0) / size
    return np.array([[s, 0.0, -s * centre[0]], [0.0, s, -s * centre[1]], [0.0, 0.0, 1.0]])


def _apply(transform: FloatArray, points: FloatArray) -> FloatArray:
    return points @ transform[:2, :2].T + transform[:2, 2]


def _equations(a: FloatArray, b: FloatArray) -> FloatArray:
    x, y, u, v = a[:, 0], a[:, 1], b[:, 0], b[:, 1]
    zero, one = np.zeros_like(x), np.ones_like(x)
    first = np.stack([-x, -y, -one, zero, zero, zero, u * x, u * y, u], axis=1)
    second = np.stack([zero, zero, zero, -x, -y, -one, v * x, v * y, v], axis=1)
    return np.concatenate([first, second])


def polygon_area(outline: ArrayLike) -> float:
    """Area of a simple polygon, shape (n, 2), in the square of its unit (shoelace)."""
    points = np.asarray(outline, dtype=np.float64)
    if points.ndim != 2 or points.shape[1] != 2 or len(points) < 3:
        raise ValueError("a polygon needs at least three points (x, y)")
    x, y = (points - points[0]).T
    return float(abs(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1))) / 2.0)


def centre_pixel_share(target_pixels: ArrayLike, blur_pixels: float = _EDGE_BLUR_DEFAULT) -> FloatArray:
    """Share of a square target's contrast that its central pixel shows, for Gaussian blur and a full pixel.

    Target and blur in pixels; the target is centred on the pixel; stray light in the lens is not included.
    """
    size = np.asarray(target_pixels, dtype=np.float64)
    if blur_pixels <= 0.0:
        return np.minimum(size, 1.0) ** 2
    return (_ramp((size + 1.0) / 2.0, blur_pixels) - _ramp((size - 1.0) / 2.0, blur_pixels)) ** 2


def pixel_kernel(blur_pixels: float = _EDGE_BLUR_DEFAULT) -> FloatArray:
    """Share that each pixel of a row gives to the middle one, for Gaussian blur and full pixels; odd length, sum 1."""
    reach = max(1, math.ceil(4.0 * blur_pixels) + 1)
    edges = np.arange(-reach - 1.0, reach + 2.0)
    ramp = _ramp(edges, blur_pixels) if blur_pixels > 0.0 else np.abs(edges)
    kernel = 0.5 * (ramp[2:] - 2.0 * ramp[1:-1] + ramp[:-2])
    result: FloatArray = kernel / kernel.sum()
    return result


def _ramp(u: FloatArray, blur_pixels: float) -> FloatArray:
    """Twice the integral of a blurred step, which tends to |u|."""
    from scipy.special import erf

    z = u / (blur_pixels * math.sqrt(2.0))
    result: FloatArray = u * erf(z) + blur_pixels * math.sqrt(2.0 / math.pi) * np.exp(-(z**2))
    return result


def least_target_pixels(share: float = 0.99, blur_pixels: float = _EDGE_BLUR_DEFAULT) -> float:
    """Side in pixels of the smallest square whose centre shows this share of the contrast."""
    if not 0.0 < share < 1.0:
        raise ValueError(f"the share of contrast lies between 0 and 1, got {share}")
    from scipy.optimize import brentq

    return float(brentq(lambda n: float(centre_pixel_share(n, blur_pixels)) - share, 1e-6, 200.0 + 40.0 * blur_pixels))


def least_target_size_m(distance_m: float, ifov_mrad: float, pixels: float = LEAST_PIXELS_PRACTICE) -> float:
    """Side in metres of the smallest target that fills this many pixels at a distance (facing, on the axis)."""
    return pixels * ifov_mrad * 1e-3 * distance_m


def system_mtf(cycles_per_pixel: ArrayLike, blur_pixels: float) -> FloatArray:
    """Modulation transfer of Gaussian blur and a full pixel; 0.5 cycles per pixel is the Nyquist frequency."""
    f = np.asarray(cycles_per_pixel, dtype=np.float64)
    return np.exp(-2.0 * (math.pi * blur_pixels * f) ** 2) * np.abs(np.sinc(f))
