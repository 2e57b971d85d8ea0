"""What kind of animals, wounds and operations these were; described, never tested."""

from dataclasses import dataclass

import pandas as pd

from audit.analyses import tally
from audit.analyses.groups import by_species
from audit.analyses.tally import animals, members
from audit.cases import Cases
from audit.results import Members

OF_ANIMALS = ("sex", "neutered", "age_years", "body_mass_kg")
COUNTED = (
    ("sex", "sex"), ("neutered", "neuter status"), ("cause_group", "cause"), ("location", "location"),
    ("method_group", "method"), ("recipient_bed", "recipient bed"), ("contamination", "wound class"),
)  # fmt: skip
MEASURED = (
    ("age_years", "age", "years"), ("body_mass_kg", "body weight", "kg"), ("area_cm2", "wound area", "cm2"),
    ("earlier_closures", "failed closures before", ""),
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Count:
    """
    The cases of a species that have one level of a characteristic; level None is not recorded.

    Of a trait of animals, only the first case of each animal stands here.
    """

    characteristic: str
    level: str | None
    species: str
    cases: Members


@dataclass(frozen=True, slots=True, kw_only=True)
class Measure:
    """
    Median, quartiles and range of a measured characteristic in one species, and how many lack it.

    A trait of animals is measured once an animal, at its first case here.
    """

    characteristic: str
    unit: str
    species: str
    known: int
    missing: int
    quartiles: tuple[float, float, float] | None
    least: float | None
    greatest: float | None


@dataclass(frozen=True, slots=True, eq=False)
class CaseMixAnswer:
    """`support` has a row for species, method, location and how many cases; empty cells are left out."""

    totals: tuple[tuple[str, int, int], ...]
    counts: tuple[Count, ...]
    measures: tuple[Measure, ...]
    support: pd.DataFrame
    changed_plan: Members


def case_mix(cases: Cases) -> CaseMixAnswer:
    """Describe the eligible cases by species; cats and dogs stand in columns of their own."""
    rows = cases.rows("case_mix_tally")
    counts, measures = [], []
    for species, part in by_species(rows):
        first = part[part["is_first_here"].astype(bool)]
        for column, name in COUNTED:
            of = first if column in OF_ANIMALS else part
            levels = of.groupby(of[column].astype(object).where(of[column].notna(), ""))
            counts += [Count(name, str(level) or None, species, members(alike)) for level, alike in levels]
        for column, name, unit in MEASURED:
            of = first if column in OF_ANIMALS else part
            measures.append(_measure(of[column].repeat(of["weight"]), name, unit, species))
    support = (
        rows.groupby(["species", "method", "location"], as_index=False)
        .agg(cases=("weight", "sum"))
        .astype({"cases": int})
    )
    return CaseMixAnswer(
        tuple((species, tally.cases(part), animals(part)) for species, part in by_species(rows)),
        tuple(counts),
        tuple(measures),
        support,
        members(rows[rows["is_changed_plan"].astype(bool)]),
    )


def _measure(values: pd.Series, name: str, unit: str, species: str) -> Measure:
    known = values.dropna().astype(float)
    if known.empty:
        return Measure(
            characteristic=name,
            unit=unit,
            species=species,
            known=0,
            missing=len(values),
            quartiles=None,
            least=None,
            greatest=None,
        )
    low, middle, high = (float(known.quantile(p)) for p in (0.25, 0.5, 0.75))
    return Measure(
        characteristic=name,
        unit=unit,
        species=species,
        known=len(known),
        missing=len(values) - len(known),
        quartiles=(low, middle, high),
        least=known.min(),
        greatest=known.max(),
    )
