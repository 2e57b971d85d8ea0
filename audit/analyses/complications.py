"""What went wrong, how badly by the treatment it needed, and in how many; never a sum of complications as a rate."""

from dataclasses import dataclass

import pandas as pd

from audit.analyses.groups import GroupShare, by_group
from audit.analyses.tally import codes, members
from audit.cases import Cases
from audit.results import Members

QUESTIONS = (
    "any", "other_than_graft_loss", "major_or_worse", "catastrophic", "infection_recipient", "infection_donor",
    "re_operated", "limb_lost_or_related_death",
)  # fmt: skip


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class ComplicationAnswer:
    """
    Cases with a complication by the protocol's day, by question, species and method group.

    `kinds` has a row for a complication and grade: species, complication, complication_group, grade, cases (number of
    cases with it), case_codes. `worst` has a row for species, method_group and worst grade: cases.
    """

    by_day: int
    overall: tuple[tuple[str, tuple[GroupShare, ...]], ...]
    by_method: tuple[GroupShare, ...]
    major_by_method: tuple[GroupShare, ...]
    kinds: pd.DataFrame
    worst: pd.DataFrame
    not_counted: int
    overridden: Members


NO_GRADE = {"sure_no": "none", "sure_yes": "grade not known", "cannot_tell": "cannot tell"}


def worst_told(status: pd.DataFrame) -> pd.Series:
    """The worst grade of each row of a complication status, or in words why there is none."""
    return status["worst_grade"].fillna(status["status"].map(NO_GRADE))


def complications(cases: Cases) -> ComplicationAnswer:
    """Answer for the eligible cases; complications found later than the protocol's day stand in `kinds` only."""
    level, by_day = cases.protocol.analysis.level, cases.protocol.complications.by_day
    status = cases.rows("complication_tally")
    kinds = cases.rows("complication_kind_tally")
    asked = status[(status["question"] == "any") & (status["status"] != "excluded")]
    counted = (
        kinds[kinds["counts"].astype(bool)]
        .groupby(["species", "complication_group", "complication", "grade"], as_index=False, dropna=False)
        .agg(cases=("weight", "sum"), case_codes=("case_codes", codes))
        .astype({"cases": int})
    )
    worst = (
        asked.assign(worst_grade=worst_told(asked))
        .groupby(["species", "method_group", "worst_grade"], as_index=False)
        .agg(cases=("weight", "sum"))
        .astype({"cases": int})
    )

    def by_method(question: str, words: str) -> tuple[GroupShare, ...]:
        part = status[status["question"] == question]
        return by_group(part, f"{words} by day {by_day}", "method_group", level=level)

    return ComplicationAnswer(
        by_day=by_day,
        overall=tuple(
            (
                question,
                by_group(status[status["question"] == question], f"{question} by day {by_day}", None, level=level),
            )
            for question in QUESTIONS
        ),
        by_method=by_method("any", "any complication"),
        major_by_method=by_method("major_or_worse", "major complication or worse"),
        kinds=counted,
        worst=worst,
        not_counted=int(kinds.loc[~kinds["counts"].astype(bool), "complications"].sum()),
        overridden=members(asked[asked["is_overridden"].astype(bool)]),
    )
