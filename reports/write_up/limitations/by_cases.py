"""What the cases of this audit and the way they were followed say against its results, in this series' own numbers."""

import pandas as pd

from audit.analyses.healing import EXITS
from audit.analyses.run import Audit
from audit.codes import FREE_GRAFTS
from reports import wording
from reports.write_up.limitations.checks import Check, Raised, cases, of

WEEK = 7
LONG_MONTHS = 24
FEW_ANSWERS = 0.9
FOUND_BY = {
    "record_search": "a search of records",
    "billing_search": "a search of bills",
    "recall": "memory of those who worked there",
}


def _exits(audit: Audit, causes: tuple[str, ...]) -> pd.DataFrame:
    return audit.healing.lines[audit.healing.lines["cause"].isin(causes)]


def _losses(audit: Audit) -> Raised:
    lines = audit.healing.lines
    lost = int((lines["right_day"].isna() & lines["exit_group"].eq("lost").fillna(False)).sum())
    return {"lost": (of(lost, cases(audit), "case"), "healing.lines.exit_group")} if lost else {}


def _never_seen(audit: Audit) -> Raised:
    unseen = len(audit.flow.never_seen)
    return {"unseen": (of(unseen, cases(audit), "case"), "flow.never_seen")} if unseen else {}


def _take_unread(audit: Audit) -> Raised:
    unread = sum(len(group.cases.cannot_tell) for group in audit.take.overall)
    asked = sum(group.cases.asked for group in audit.take.overall)
    return {"unread": (of(unread, asked, "free graft"), "take.overall.cases.cannot_tell")} if unread else {}


def _prompted(audit: Audit) -> Raised:
    """Examinations of free grafts that trouble prompted, where their reason is on record."""
    planned, prompted, other = (sum(each.examinations[n] for each in audit.planned_examinations) for n in range(3))
    told = of(prompted, planned + prompted + other, "examination")
    return {"prompted": (told, "planned_examinations.examinations")} if prompted else {}


def _visit_gaps(audit: Audit) -> Raised:
    lines = audit.healing.lines
    gaps = (lines["right_day"] - lines["left_day"]).dropna().astype(float)
    if gaps.empty or gaps.max() <= WEEK:
        return {}
    middle = float(gaps.median())
    days = wording.number(middle, 0 if middle.is_integer() else 1)
    source = "healing.lines.right_day"
    return {
        "median": (f"{days} {wording.plural('day', middle)}", source),
        "most": (wording.count(int(gaps.max()), "day"), source),
    }


def _healed_but(audit: Audit, name: str) -> Raised:
    codes, healed = getattr(audit.healing, name), int(audit.healing.lines["right_day"].notna().sum())
    return {name: (f"{of(len(codes), healed, 'wound')} seen healed", f"healing.{name}")} if codes else {}


def _competing(audit: Audit) -> Raised:
    ended = _exits(audit, EXITS)
    kinds = [f"{times} {words}" for words, times in sorted(ended["exit_words"].value_counts().items())]
    source = "healing.lines.cause"
    if not kinds:
        return {}
    return {"ended": (of(len(ended), cases(audit), "case"), source), "kinds": ("; ".join(kinds), source)}


def _re_grafts(audit: Audit) -> Raised:
    again = len(_exits(audit, ("re_operated",)))
    return {"again": (of(again, cases(audit), "case"), "healing.lines.cause.re_operated")} if again else {}


def _left_out(audit: Audit, reason: str) -> int:
    return sum(len(codes) for stage in audit.flow.stages for why, codes in stage.left_out if why == reason)


def _several_operations(audit: Audit) -> Raised:
    further = _left_out(audit, "not the first operation of its animal")
    return {"further": (wording.count(further, "operation"), "flow.stages.left_out")} if further else {}


def _several_grafts_counted(audit: Audit) -> Raised:
    operations, animals = cases(audit), audit.flow.animals
    if operations <= animals:
        return {}
    return {
        "cases": (wording.count(operations, "operation"), "flow.stages.cases"),
        "animals": (wording.count(animals, "animal"), "flow.animals"),
    }


def _methods_follow_wounds(audit: Audit) -> Raised:
    words = []
    for species, _, _ in audit.case_mix.totals:
        here = audit.case_mix.support[audit.case_mix.support["species"] == species]
        methods, locations = here["method"].unique(), here["location"].unique()
        pairs, filled = len(methods) * len(locations), len(here)
        if len(methods) > 1 and filled < pairs:
            words.append(f"{pairs - filled:,} of {pairs:,} in {wording.plural(species, 2)}")
    return {"empty": (wording.join(words), "case_mix.support")} if words else {}


def _species(audit: Audit) -> Raised:
    words = [f"{wording.count(n, 'case')} in {wording.plural(species, 2)}" for species, n, _ in audit.flow.species]
    return {"species": (wording.join(words), "flow.species")} if len(words) > 1 else {}


def _earlier_closures(audit: Audit) -> Raised:
    measures = [m for m in audit.case_mix.measures if m.characteristic == "failed closures before"]
    words = [f"up to {m.greatest:.0f} in {wording.plural(m.species, 2)}" for m in measures if m.greatest]
    missing = sum(m.missing for m in measures)
    if missing:
        words.append(f"not recorded in {of(missing, cases(audit), 'case')}")
    return {"failed": (wording.join(words), "case_mix.measures")} if words else {}


def _planned_not_done(audit: Audit) -> Raised:
    abandoned, changed = _left_out(audit, "planned, then not done"), len(audit.case_mix.changed_plan)
    if not abandoned and not changed:
        return {}
    return {
        "abandoned": (wording.count(abandoned, "operation"), "flow.stages.left_out"),
        "changed": (of(changed, cases(audit), "case"), "case_mix.changed_plan"),
    }


def _case_finding(audit: Audit) -> Raised:
    how = FOUND_BY.get(audit.protocol.protocol.case_finding)
    return {"how": (how, "protocol.protocol.case_finding")} if how else {}


def _chosen_by_outcome(audit: Audit) -> Raised:
    chosen = audit.protocol.protocol.series == "outcome_selected"
    return {"chosen": ("how they ended", "protocol.protocol.series")} if chosen else {}


def _completeness(audit: Audit) -> Raised:
    present, due = audit.flow.core_complete
    core = audit.flow.completeness[lambda fields: fields["is_core"] & (fields["due"] > 0)]
    lacking = int((core["present"] < FEW_ANSWERS * core["due"]).sum())
    if not lacking:
        return {}
    source = "flow.completeness"
    return {
        "fields": (f"{lacking:,} of {len(core):,}", source),
        "present": (f"{present:,} of {due:,} ({wording.percent(present / due)})", "flow.core_complete"),
    }


def _not_frozen(audit: Audit) -> Raised:
    return {} if audit.protocol.frozen else {"state": ("not frozen", "protocol.frozen")}


def _frozen_late(audit: Audit) -> Raised:
    frozen = audit.protocol.frozen
    if frozen is None or audit.frozen_first:
        return {}
    return {"frozen": (f"{frozen.on}", "protocol.frozen.on"), "loaded": (f"{audit.first_load}", "first_load")}


def _rule_of_thumb(audit: Audit) -> Raised:
    about = audit.protocol.protocol
    if about.target is None or about.target_source != "rule_of_thumb":
        return {}
    return {"target": (wording.percent(about.target), "protocol.protocol.target_pct")}


def _long_accrual(audit: Audit) -> Raised:
    first, last = audit.flow.first_month, audit.flow.last_month
    if not first or not last or (pd.Period(last, "M") - pd.Period(first, "M")).n < LONG_MONTHS:
        return {}
    return {"first": (first, "flow.first_month"), "last": (last, "flow.last_month")}


def _no_donor_record(audit: Audit) -> Raised:
    lines = audit.healing.lines
    grafts = set(lines.loc[lines["method_group"].isin(FREE_GRAFTS), "case_code"].dropna())
    missing = len(grafts - set(audit.donor.sites["case_code"]))
    return {"missing": (of(missing, len(grafts), "free graft"), "donor.sites.case_code")} if missing else {}


def _passive_infection(audit: Audit) -> Raised:
    groups = dict(audit.complications.overall).get("infection_recipient", ())
    unknown = sum(len(group.cases.cannot_tell) for group in groups)
    if not unknown:
        return {}
    asked = sum(group.cases.asked for group in groups)
    return {
        "days": (wording.count(audit.complications.by_day, "day"), "complications.by_day"),
        "unknown": (of(unknown, asked, "case"), "complications.overall.infection_recipient.cases.cannot_tell"),
    }


CHECKS: dict[str, Check] = {
    "losses": _losses,
    "never-seen": _never_seen,
    "take-unread": _take_unread,
    "visit-gaps": _visit_gaps,
    "prompted-looks": _prompted,
    "unconfirmed": lambda audit: _healed_but(audit, "unconfirmed"),
    "reopened": lambda audit: _healed_but(audit, "reopened"),
    "competing": _competing,
    "re-grafts": _re_grafts,
    "several-operations": _several_operations,
    "several-grafts-counted": _several_grafts_counted,
    "methods-follow-wounds": _methods_follow_wounds,
    "species": _species,
    "earlier-closures": _earlier_closures,
    "planned-not-done": _planned_not_done,
    "case-finding": _case_finding,
    "chosen-by-outcome": _chosen_by_outcome,
    "passive-infection": _passive_infection,
    "no-donor-record": _no_donor_record,
    "completeness": _completeness,
    "protocol-not-frozen": _not_frozen,
    "protocol-frozen-late": _frozen_late,
    "rule-of-thumb": _rule_of_thumb,
    "long-accrual": _long_accrual,
}
