"""Wound geometry: areas and perimeters of ellipses and traced outlines, and how far the edge has moved."""

from math import pi, sqrt

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import ellipe

from audit.errors import AuditError


def ellipse_area(length: ArrayLike, width: ArrayLike) -> NDArray[np.float64]:
    """
    Area of an ellipse from its full axes, in their unit squared; length times width is 27 % more.

    >>> float(ellipse_area(6, 4).round(2))
    18.85
    """
    a, b = _axes(length, width)
    return pi / 4 * a * b


def ellipse_perimeter(length: ArrayLike, width: ArrayLike) -> NDArray[np.float64]:
    """
    Perimeter of an ellipse from its full axes, exact to rounding (complete elliptic integral of the second kind).

    >>> float(ellipse_perimeter(6, 6).round(2))
    18.85
    """
    a, b = _axes(length, width)
    longer, shorter = np.maximum(a, b), np.minimum(a, b)
    ratio = np.divide(shorter, longer, out=np.ones_like(longer), where=longer > 0)
    return 2 * longer * ellipe(1 - ratio**2)


def ramanujan_perimeter(length: ArrayLike, width: ArrayLike) -> NDArray[np.float64]:
    """
    The same by Ramanujan's second formula, for a check by hand; within 0.05 % of the exact one however narrow.

    Ramanujan S. Q J Math 1914;45:350-372.
    """
    a, b = _axes(length, width)
    total = a + b
    h = np.divide(a - b, total, out=np.zeros_like(total), where=total > 0) ** 2
    return pi / 2 * total * (1 + 3 * h / (10 + np.sqrt(4 - 3 * h)))


def shortest_perimeter(area: float) -> float:
    """
    The perimeter of a circle of this area: no outline is shorter, so a recorded one below it is an error.

    >>> round(shortest_perimeter(28.27), 2)
    18.85
    """
    if area < 0:
        raise AuditError(f"area {area:g} is below 0; mend the record")
    return 2 * sqrt(pi * area)


def polygon_area(points: ArrayLike) -> float:
    """
    Area inside a traced outline, in its unit squared, from its corners (x, y) in order either way round.

    The outline closes by itself and must not cross itself. Shoelace formula, elementary geometry. Raises AuditError
    for fewer than three corners. A graft's take is one less the areas of its lost parts over its own.

    >>> polygon_area([(0, 0), (4, 0), (4, 3)])
    6.0
    """
    x, y = _corners(points)
    # Measured from the first corner, as far-off coordinates would cost digits.
    x, y = x - x[0], y - y[0]
    return abs(float(x @ np.roll(y, -1) - y @ np.roll(x, -1))) / 2


def polygon_perimeter(points: ArrayLike) -> float:
    """
    Length around a traced outline, in its unit, from its corners (x, y) in order. Raises as `polygon_area`.

    >>> polygon_perimeter([(0, 0), (4, 0), (4, 3)])
    12.0
    """
    x, y = _corners(points)
    return float(np.hypot(x - np.roll(x, -1), y - np.roll(y, -1)).sum())


def linear_advance(
    first_area: float, last_area: float, first_perimeter: float, last_perimeter: float, days: float
) -> float:
    """
    Mean inward movement of the edge per day: change of area over mean perimeter, over days; negative when widening.

    Unlike percent reduction it does not favour small wounds. Gilman TH. Wounds 1990;2:95-101.

    >>> round(linear_advance(12.566, 5.309, 12.566, 8.168, 7), 3)
    0.1
    """
    perimeter = (first_perimeter + last_perimeter) / 2
    if days <= 0 or perimeter <= 0:
        raise AuditError(f"{days:g} days, mean perimeter {perimeter:g}: both must be above 0; mend the visits")
    return (first_area - last_area) / perimeter / days


def percent_reduction(first_area: float, last_area: float) -> float:
    """
    Share of the first area that is closed, in percent; negative when the wound grew.

    >>> percent_reduction(8, 2)
    75.0
    """
    if first_area <= 0 or last_area < 0:
        raise AuditError(f"areas {first_area:g} and {last_area:g}: the first must be above 0, the last not below 0")
    return 100 * (first_area - last_area) / first_area


def _axes(length: ArrayLike, width: ArrayLike) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    a, b = (np.asarray(axis, dtype=float) for axis in (length, width))
    if (a < 0).any() or (b < 0).any():
        raise AuditError("an axis is below 0; mend the record")
    return a, b


def _corners(points: ArrayLike) -> NDArray[np.float64]:
    corners = np.asarray(points, dtype=float)
    if corners.ndim != 2 or corners.shape[0] < 3 or corners.shape[1] != 2:
        raise AuditError(f"an outline of shape {corners.shape}: give three corners or more, each as x and y")
    return corners.T
