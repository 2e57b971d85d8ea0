"""Wound geometry: how far the edge has moved, how much is closed, and what no outline can be shorter than."""

from math import pi, sqrt

from audit.errors import AuditError


def shortest_perimeter(area: float) -> float:
    """
    The perimeter of a circle of this area: no outline is shorter, so a recorded one below it is an error.

    >>> round(shortest_perimeter(28.27), 2)
    18.85
    """
    if not area >= 0:
        raise AuditError(f"area {area:g} is below 0", "mend the record")
    return 2 * sqrt(pi * area)


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
    if not (days > 0 and perimeter > 0 and first_area >= 0 and last_area >= 0):
        raise AuditError(f"{days:g} days, mean perimeter {perimeter:g}: both must be above 0", "mend the visits")
    return (first_area - last_area) / perimeter / days


def percent_reduction(first_area: float, last_area: float) -> float:
    """
    Share of the first area that is closed, in percent; negative when the wound grew.

    >>> percent_reduction(8, 2)
    75.0
    """
    if not (first_area > 0 and last_area >= 0):
        raise AuditError(
            f"areas {first_area:g} and {last_area:g}: the first must be above 0, the last not below 0",
            "mend the visits",
        )
    return 100 * (first_area - last_area) / first_area
