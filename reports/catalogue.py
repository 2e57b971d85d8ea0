"""Every figure and table that answers of the audit can give, by its name; page and paper both choose from here."""

from collections.abc import Callable, Mapping
from functools import cache

from audit.analyses.run import Audit
from reports.document import Figure, Table
from reports.figures.bandages import bandage_mean_figure, bandage_rates_figure
from reports.figures.case_mix import case_mix_figure
from reports.figures.cases import cases_figure
from reports.figures.complications import complication_kinds_figure, complication_shares_figure
from reports.figures.donor import donor_figure
from reports.figures.ends import ends_figure
from reports.figures.factors import factor_figure
from reports.figures.flow import completeness_figure, flow_figure
from reports.figures.healing import healing_by_method_figure, healing_curve_figure
from reports.figures.scores import hair_figure, limb_use_figure, look_figure, score_pairs_figure
from reports.figures.take import every_graft_figure, take_by_figure
from reports.figures.wound_closure import wound_closure_figure
from reports.figures.yardsticks import yardstick_changes_figure, yardstick_days_figure, yardstick_shares_figure
from reports.sections.agreement import agreement_table, measure_table
from reports.sections.bandages import bandage_phase_table, bandage_wait_table
from reports.sections.case_mix import characteristics_table
from reports.sections.complications import (
    complication_list_table,
    complication_table,
    complications_by_method_table,
)
from reports.sections.definitions import method_table, protocol_table, scale_table, term_table
from reports.sections.donor import donor_closure_table, donor_healed_table, donor_suture_table
from reports.sections.factors import factor_ratio_table, standardised_table
from reports.sections.flow import completeness_table, record_ends_table
from reports.sections.healing import ends_table, healed_by_day_table, median_days_table
from reports.sections.owners import owner_difference_table, owner_mark_table
from reports.sections.planned_examinations import planned_table
from reports.sections.scores import (
    good_hair_table,
    score_alike_table,
    score_hair_table,
    score_medians_table,
    score_pairs_table,
)
from reports.sections.species import species_table
from reports.sections.summaries import complication_summary, donor_bandage_summary, healing_summary, take_summary
from reports.sections.take import (
    every_graft_table,
    take_by_location_table,
    take_by_method_table,
    take_percent_table,
    take_thresholds_table,
)
from reports.sections.wound_closure import edge_advance_table
from reports.sections.yardsticks import published_table, rule_table, target_table

FIGURES: Mapping[str, Callable[[Audit], Figure | None]] = {
    "flow": lambda audit: flow_figure(audit.flow),
    "completeness": lambda audit: completeness_figure(audit.flow),
    "support": lambda audit: case_mix_figure(audit.case_mix),
    "take-every-graft": lambda audit: every_graft_figure(audit.take),
    "take-by-location": lambda audit: take_by_figure(audit.take, "location"),
    "take-by-method": lambda audit: take_by_figure(audit.take, "method"),
    "healing-curve": lambda audit: healing_curve_figure(audit.healing),
    "healing-by-method": lambda audit: healing_by_method_figure(audit.healing),
    "healing-ends": lambda audit: ends_figure(audit.healing),
    # A cohort without a free graft is asked nothing of healing.
    "healing-cases": lambda audit: (
        cases_figure(audit.healing) if audit.healing.overall or not audit.is_cohort else None
    ),
    "open-area": lambda audit: wound_closure_figure(audit.wound_closure),
    "scores-hair": lambda audit: hair_figure(audit.scores),
    "scores-look": lambda audit: look_figure(audit.scores),
    "scores-use": lambda audit: limb_use_figure(audit.scores),
    "scores-pairs": lambda audit: score_pairs_figure(audit.scores),
    "complication-shares": lambda audit: complication_shares_figure(audit.complications),
    "complication-kinds": lambda audit: complication_kinds_figure(audit.complications),
    "donor-sutures": lambda audit: donor_figure(audit.donor),
    "bandage-mean": lambda audit: bandage_mean_figure(audit.bandages),
    "bandage-rates": lambda audit: bandage_rates_figure(audit.bandages),
    "yardstick-shares": lambda audit: yardstick_shares_figure(audit.yardsticks),
    "yardstick-days": lambda audit: yardstick_days_figure(audit.yardsticks),
    "yardstick-changes": lambda audit: yardstick_changes_figure(audit.yardsticks),
    "factors": lambda audit: factor_figure(audit.factors),
}
TABLES: Mapping[str, Callable[[Audit], Table | None]] = {
    "record-ends": lambda audit: record_ends_table(audit.flow),
    "completeness-counts": lambda audit: completeness_table(audit.flow),
    "characteristics": lambda audit: characteristics_table(audit.case_mix),
    "take": take_summary,
    "take-location-counts": lambda audit: take_by_location_table(audit.take, _few(audit)),
    "take-method-counts": lambda audit: take_by_method_table(audit.take, _few(audit)),
    "take-species": lambda audit: species_table(audit.take.species, _few(audit)),
    "take-thresholds": lambda audit: take_thresholds_table(audit.take, _few(audit)),
    "take-percent": lambda audit: take_percent_table(audit.take),
    "take-all-operations": lambda audit: every_graft_table(audit.take, _few(audit)),
    "healing": healing_summary,
    "healed-by-day": lambda audit: healed_by_day_table(audit.healing, audit.protocol),
    "median-days": lambda audit: median_days_table(audit.healing),
    "ends-by-horizon": lambda audit: ends_table(audit.healing, audit.protocol),
    "healing-planned": lambda audit: planned_table(audit.planned_examinations),
    "edge-advance": lambda audit: edge_advance_table(audit.wound_closure),
    "score-hair": lambda audit: score_hair_table(audit.scores),
    "score-good-hair": lambda audit: good_hair_table(audit.scores, _few(audit)),
    "score-medians": lambda audit: score_medians_table(audit.scores),
    "score-superiority": lambda audit: score_pairs_table(audit.scores),
    "score-alike": lambda audit: score_alike_table(audit.scores),
    "owner-marks": lambda audit: owner_mark_table(audit.scores.owners),
    "owner-differences": lambda audit: owner_difference_table(audit.scores.owners),
    "score-agreement": lambda audit: agreement_table(audit.agreement),
    "measure-agreement": lambda audit: measure_table(audit.measured_agreement),
    "complications": complication_summary,
    "complication-counts": lambda audit: complication_table(audit.complications, _few(audit)),
    "complications-by-method": lambda audit: complications_by_method_table(audit.complications, _few(audit)),
    "complication-list": lambda audit: complication_list_table(audit.complications),
    "donor-bandage": donor_bandage_summary,
    "donor-suture-counts": lambda audit: donor_suture_table(audit.donor, _few(audit)),
    "donor-healed": lambda audit: donor_healed_table(audit.donor),
    "donor-closures": lambda audit: donor_closure_table(audit.donor),
    "bandage-phases": lambda audit: bandage_phase_table(audit.bandages),
    "bandage-waits": lambda audit: bandage_wait_table(audit.bandages),
    "yardsticks-target": lambda audit: target_table(audit.yardsticks, _few(audit)),
    "yardsticks-rules": lambda audit: rule_table(audit.yardsticks, _few(audit)),
    "yardsticks-published": lambda audit: published_table(audit.yardsticks, _few(audit)),
    "factor-ratios": lambda audit: factor_ratio_table(audit.factors),
    "take-standardised": lambda audit: standardised_table(audit.factors),
    "terms": lambda audit: term_table(audit.protocol),
    "scales": lambda audit: scale_table(),
    "methods": lambda audit: method_table(audit.protocol, audit.healing),
    "protocol-terms": lambda audit: protocol_table(audit.protocol),
}


class Catalogue:
    """The figures and tables of one audit. Each is built when it is first asked for, and only then."""

    def __init__(self, audit: Audit) -> None:
        self._figure = cache(lambda name: FIGURES[name](audit))
        self._table = cache(lambda name: TABLES[name](audit))

    def figures(self, *names: str) -> tuple[Figure, ...]:
        """Those of the named figures that have something to show, in that order; raises KeyError for a strange name."""
        return tuple(figure for figure in map(self._figure, names) if figure is not None)

    def tables(self, *names: str) -> tuple[Table, ...]:
        """Those of the named tables that have a row, in that order; raises KeyError for a strange name."""
        return tuple(table for table in map(self._table, names) if table is not None and table.rows)


def _few(audit: Audit) -> int:
    """Fewer known cases than this are counted, without a percentage."""
    return audit.protocol.analysis.smallest_percentage
