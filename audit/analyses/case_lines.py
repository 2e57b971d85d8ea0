"""Every case of the audit in one line, as a small series is read: no month, breed, site or colleague in it."""

from dataclasses import dataclass

import pandas as pd

from audit.analyses.complications import worst_told
from audit.analyses.groups import species_place
from audit.cases import Cases


@dataclass(frozen=True, slots=True, kw_only=True)
class CaseLine:
    """
    One case. Days count from surgery; None is not known.

    Healing lies after `open_until`, up to `healed_by`. `take` is (viable, viable with the doubtful) in percent of the
    outline, read on `take_day`. `worst` is the worst grade of complications by the protocol's day, "none" where the
    case was watched so long without one, "grade not known" where no treatment tells. Age is in whole years.
    """

    case_code: str
    species: str
    sex: str | None
    age_years: int | None
    cause_group: str | None
    location: str | None
    area_cm2: float | None
    method: str
    take: tuple[float, float] | None
    take_day: int | None
    open_until: int | None
    healed_by: int | None
    worst: str | None
    hair: int | None
    exit_reason: str | None
    exit_day: int | None


COLUMNS = (
    "case_code", "species", "sex", "age_years", "cause_group", "location", "area_cm2", "method", "viable_pct",
    "uncertain_pct", "read_on_day", "left_day", "right_day", "worst_grade", "hair", "exit_reason", "exit_day",
)  # fmt: skip


def case_lines(cases: Cases) -> tuple[CaseLine, ...]:
    """The eligible cases, dogs first, in order of surgery, so that later cases come last; see CaseLine."""
    protocol, listed = cases.protocol, cases.rows("case_list")
    take, score = cases.rows("take"), cases.rows("score")
    harm = cases.rows("complication_status")
    harm = harm[(harm["question"] == "any") & harm["status"].isin(["sure_yes", "sure_no"])]
    take = take[(take["threshold_pct"] == protocol.take.threshold_pct) & take["viable_pct"].notna()]
    hair = score[(score["item"] == "hair") & (score["status"] == "scored")].rename(columns={"value": "hair"})
    table = listed[listed["status"] == "eligible"]
    for other, columns in (
        (take, ["viable_pct", "uncertain_pct", "read_on_day"]),
        (cases.rows("healing"), ["left_day", "right_day"]),
        (harm.assign(worst_grade=worst_told(harm)), ["worst_grade"]),
        (hair, ["hair"]),
    ):
        table = table.merge(other[["case_code", *columns]], on="case_code", how="left", validate="one_to_one")
    table = table.assign(species_place=table["species"].map(species_place))
    rows = table.sort_values(["species_place", "surgery_month", "running_order", "case_code"])[list(COLUMNS)]
    return tuple(_line(dict(zip(COLUMNS, row, strict=True))) for row in rows.itertuples(index=False, name=None))


def _line(row: dict[str, object]) -> CaseLine:
    known = {name: None if pd.isna(value) else value for name, value in row.items()}

    def whole(name: str) -> int | None:
        value = known[name]
        return None if value is None else int(float(str(value)))

    def text(name: str) -> str | None:
        value = known[name]
        return None if value is None else str(value)

    viable, uncertain = known["viable_pct"], known["uncertain_pct"]
    take = None if viable is None else (float(str(viable)), float(str(viable)) + float(str(uncertain or 0)))
    area = known["area_cm2"]
    return CaseLine(
        case_code=str(row["case_code"]),
        species=str(row["species"]),
        sex=text("sex"),
        age_years=whole("age_years"),
        cause_group=text("cause_group"),
        location=text("location"),
        area_cm2=None if area is None else float(str(area)),
        method=str(row["method"]),
        take=take,
        take_day=whole("read_on_day"),
        open_until=whole("left_day"),
        healed_by=whole("right_day"),
        worst=text("worst_grade"),
        hair=whole("hair"),
        exit_reason=text("exit_reason"),
        exit_day=whole("exit_day"),
    )
