"""The wound that the graft came from: when its sutures came out, when it had healed and what went wrong there."""

from dataclasses import dataclass

import numpy as np
import pandas as pd

from audit.analyses.groups import GroupShare, by_group, by_species
from audit.analyses.tally import individuals, members
from audit.cases import Cases
from audit.results import Estimate, Members
from audit.stats.profile import design_effect_by_day, quantile_interval


@dataclass(frozen=True, slots=True, eq=False)
class DonorAnswer:
    """
    Donor sites of the eligible cases.

    `sites` has a row a donor site (case_code, species, donor, donor_region, donor_closure, suture_out_day, healed_left,
    healed_right, status, reason, complications). `healed` pairs a species with the median day, None where no site was
    watched for it.
    """

    sutures_from: int
    sutures_to: int
    sutures: tuple[GroupShare, ...]
    healed: tuple[tuple[str, int, Estimate | None], ...]
    with_complication: tuple[tuple[str, Members], ...]
    sites: pd.DataFrame


def donor(cases: Cases) -> DonorAnswer:
    """Answer for the donor sites of eligible cases; absorbable sutures leave the denominator and are listed."""
    protocol, tallied = cases.protocol, cases.rows("donor_tally")
    sites = individuals(tallied)
    sutures_from, sutures_to = protocol.donor.sutures_from, protocol.donor.sutures_to
    return DonorAnswer(
        sutures_from,
        sutures_to,
        by_group(tallied, f"sutures out on day {sutures_from} to {sutures_to}", None, level=protocol.analysis.level),
        tuple((s, *_median(part, protocol.analysis.level)) for s, part in by_species(sites)),
        tuple((species, members(part[part["complications"] > 0])) for species, part in by_species(tallied)),
        sites,
    )


def _median(sites: pd.DataFrame, level: float) -> tuple[int, Estimate | None]:
    watched = sites[sites["healed_left"].notna() | sites["healed_right"].notna()]
    if watched.empty:
        return 0, None
    left = watched["healed_left"].astype(float).fillna(0).to_numpy(float)
    right = watched["healed_right"].astype(float).fillna(np.inf).to_numpy(float)
    # Sites of one animal heal alike, and tell less than as many animals.
    effect = design_effect_by_day(left, right, watched["animal"])
    return len(watched), quantile_interval(left, right, 0.5, level=level, design_effect=effect)
