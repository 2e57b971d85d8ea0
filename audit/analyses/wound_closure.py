"""How fast open wounds closed: percent of the area, and the advance of the edge, which does not favour small wounds."""

from dataclasses import dataclass

import pandas as pd

from audit.analyses.groups import by_species
from audit.analyses.tally import individuals
from audit.cases import Cases
from audit.results import Estimate
from audit.stats.geometry import linear_advance, percent_reduction, shortest_perimeter
from audit.stats.median import median_interval


@dataclass(frozen=True, slots=True, eq=False)
class WoundClosureAnswer:
    """
    The open area of cases measured open on one day and again later.

    `examinations` has a row each: case, case_code, species, method_group, day, open_area_cm2. `cases` has a row a case:
    case, case_code, animal, species, method_group, first_day, last_day, first_area, last_area, reduction_pct,
    advance_mm (a day), by_circle (a perimeter was not measured, and a circle's stands for it). `case` is a number.
    `advance` pairs groups with medians.
    """

    examinations: pd.DataFrame
    cases: pd.DataFrame
    advance: tuple[tuple[str, str, Estimate], ...]


def wound_closure(cases: Cases) -> WoundClosureAnswer:
    """From the first examination with an open area to the first later one that saw it closed, or else the last one."""
    examinations = individuals(cases.rows("open_area_tally")).rename(columns=SINGLE)
    examinations = (
        examinations.rename_axis("case")
        .explode(list(SINGLE.values()))
        .reset_index()
        .astype({"day": int, "open_area_cm2": float, "open_perimeter_cm": float})
    )
    rows = [row for _, part in examinations.groupby("case") if (row := _closing(part))]
    closing = pd.DataFrame(rows, columns=list(COLUMNS))
    medians = [
        (species, str(group), _median(part["advance_mm"], cases.protocol.analysis.level))
        for species, mine in by_species(closing)
        for group, part in mine.groupby("method_group")
    ]
    return WoundClosureAnswer(examinations, closing, tuple(medians))


SINGLE = {"days": "day", "areas_cm2": "open_area_cm2", "perimeters_cm": "open_perimeter_cm"}
COLUMNS = (
    "case", "case_code", "animal", "species", "method_group", "first_day", "last_day", "first_area", "last_area",
    "reduction_pct", "advance_mm", "by_circle",
)  # fmt: skip


def _closing(examinations: pd.DataFrame) -> dict[str, object] | None:
    was_open = examinations[examinations["open_area_cm2"] > 0]
    if was_open.empty:
        return None
    first = was_open.iloc[0]
    later = examinations[examinations["day"] > first["day"]]
    if later.empty:
        return None
    closed = later[later["open_area_cm2"] == 0]
    last = closed.iloc[0] if len(closed) else later.iloc[-1]
    before, after = (_perimeter(examination) for examination in (first, last))
    days = int(last["day"] - first["day"])
    advance = linear_advance(first["open_area_cm2"], last["open_area_cm2"], before[0], after[0], days)
    kept = {name: first[name] for name in ("case", "case_code", "animal", "species", "method_group")}
    return kept | {
        "first_day": int(first["day"]),
        "last_day": int(last["day"]),
        "first_area": float(first["open_area_cm2"]),
        "last_area": float(last["open_area_cm2"]),
        "reduction_pct": percent_reduction(first["open_area_cm2"], last["open_area_cm2"]),
        "advance_mm": 10 * advance,
        "by_circle": before[1] or after[1],
    }


def _perimeter(examination: pd.Series) -> tuple[float, bool]:
    """The measured perimeter in cm; a circle's where none was measured, which makes the advance a little too fast."""
    area, measured = float(examination["open_area_cm2"]), examination["open_perimeter_cm"]
    if pd.notna(measured) and measured > 0:
        return float(measured), False
    return shortest_perimeter(area), area > 0


def _median(values: pd.Series, level: float) -> Estimate:
    return median_interval(values.to_numpy(float), quantity="edge advance, mm a day", level=level)
