"""Where a manuscript answers what the reporting guides ask: an aid to writing that judges nothing."""

import tomllib
from collections.abc import Callable, Mapping
from functools import cache
from importlib.resources import files
from typing import Any

from audit.analyses.run import Audit
from audit.protocol import Protocol
from reports import wording
from reports.document import Column, Table
from reports.references import references

PLACES = (
    "title", "abstract", "introduction", "objectives", "design", "setting", "participants", "outcomes", "measurement",
    "bias", "size", "statistics", "flow", "follow_up", "baseline", "take", "healing", "complications", "scores",
    "comparisons", "tests", "agreement", "factors", "donor", "bandages", "key_results", "interpretation", "limitations",
    "funding", "ethics",
)  # fmt: skip
AUTHOR = "only you can answer"
COLUMNS = (Column("Item"), Column("Guide topic"), Column("What it asks (our words)"), Column("Where it stands"))
AID = (
    "This table is an aid to writing: it says where to look and what is left to write, and judges neither the paper "
    "nor the work. Where the journal has a form of its own, that form goes first."
)
OUR_WORDS = "The questions are in our own words and shorter than the guides: read the published texts before you send the paper."
SOURCES = ("strobe-vet", "strobe-vet-explained", "strobe", "sampl")
SERIES = (
    "STROBE-Vet was written for cohort, case-control and cross-sectional studies; a series of cases chosen for how they "
    "ended borrows from it what it can."
)


def guide_table(places: Mapping[str, str], protocol: Protocol, audit: Audit) -> Table:
    """
    One row an item of STROBE-Vet and SAMPL, the last cell saying where it stands.

    `places` gives for the keys of PLACES the words that name a place of the manuscript ("Methods, Statistical methods",
    "Table 2"); a key left out is a place that the manuscript has not. Raises ValueError for a key that is none.
    """
    strange = sorted(set(places) - set(PLACES))
    if strange:
        raise ValueError(f"{', '.join(strange)}: no place that the guides ask for; take one of {', '.join(PLACES)}")
    rows = tuple(
        (f"{item['guide']} {item['id']}", item["topic"], item["asks"], _stands(item, places, protocol, audit))
        for item in catalogue()["item"]
    )
    series = (SERIES,) if protocol.protocol.series == "outcome_selected" else ()
    notes = (AID, *series, OUR_WORDS, *_read(), *_refused(audit), _sources())
    return Table("reporting-guide", "Where the manuscript answers the reporting guides", COLUMNS, rows, notes)


def _stands(item: dict[str, Any], places: Mapping[str, str], protocol: Protocol, audit: Audit) -> str:
    reasons = (CONDITIONS[name](protocol, audit) for name in item.get("unless", ()))
    reason = item.get("reason") or next(filter(None, reasons), "")
    if reason:
        return f"not applicable because {reason}"
    # Two keys may name one place, and a manuscript may lack a place.
    there = list(dict.fromkeys(places[key] for key in item.get("places", ()) if places.get(key)))
    if not there:
        return f"not applicable because {item['absent']}" if "absent" in item else AUTHOR
    return (
        f"found at {wording.join(there)}"
        if item["state"] == "found"
        else f"drafted at {wording.join(there)}, needs your words"
    )


def _chosen_by_outcome(protocol: Protocol, audit: Audit) -> str:
    chosen = protocol.protocol.series == "outcome_selected"
    return "cases were chosen for how they ended, so no risk is estimated and nothing is tested" if chosen else ""


def _nobody_followed(protocol: Protocol, audit: Audit) -> str:
    return "" if audit.flow.follow_up else "no case was seen after surgery"


def _nothing_graded(protocol: Protocol, audit: Audit) -> str:
    return "" if _rated(audit) or audit.measured_agreement else "nothing was graded on photographs"


def _rated(audit: Audit) -> int:
    return audit.scores.blinded[1] + audit.scores.blinding_unknown


def _rated_once(protocol: Protocol, audit: Audit) -> str:
    return "" if audit.agreement or audit.measured_agreement else "no photograph was rated by two raters"


def _no_model(protocol: Protocol, audit: Audit) -> str:
    return "" if any(model.ratios for model in audit.factors.models) else "no regression model was fitted"


def _no_relative_measure(protocol: Protocol, audit: Audit) -> str:
    return _no_model(protocol, audit) and "no relative measure was computed"


def _nothing_tested(protocol: Protocol, audit: Audit) -> str:
    tested = any(item.all_alike for item in audit.scores.items) or any(test for _, test, _ in audit.factors.curves)
    return "" if tested else "no hypothesis was tested"


def _no_groups_compared(protocol: Protocol, audit: Audit) -> str:
    return (
        "" if any(item.pairs for item in audit.scores.items) else "no two groups were large enough to set side by side"
    )


def _no_curve(protocol: Protocol, audit: Audit) -> str:
    return "" if audit.healing.overall or audit.healing.by_method else "no time to healing was estimated"


def _nothing_bayesian(protocol: Protocol, audit: Audit) -> str:
    # The mean percent take is a Bayesian bootstrap, whose half animals are a prior too.
    return "" if audit.take.pooled or audit.take.percent else "no Bayesian method was used"


CONDITIONS: dict[str, Callable[[Protocol, Audit], str]] = {
    "chosen_by_outcome": _chosen_by_outcome,
    "nobody_followed": _nobody_followed,
    "nothing_graded": _nothing_graded,
    "rated_once": _rated_once,
    "no_model": _no_model,
    "no_relative_measure": _no_relative_measure,
    "nothing_tested": _nothing_tested,
    "no_groups_compared": _no_groups_compared,
    "no_curve": _no_curve,
    "nothing_bayesian": _nothing_bayesian,
}


def _refused(audit: Audit) -> tuple[str, ...]:
    """Why models are not in the paper, each by its outcome and species."""
    refusals = [
        f"{model.outcome} in {wording.plural(model.species, 2)} ({model.refused})"
        for model in audit.factors.models
        if model.refused
    ]
    return (f"Models that were asked for and refused: {'; '.join(refusals)}.",) if refusals else ()


def _read() -> tuple[str, ...]:
    """For each guide and manner of checking, the items that were checked so."""
    lines = []
    for guide in dict.fromkeys(item["guide"] for item in catalogue()["item"]):
        for manner, words in catalogue()["checked"].items():
            ids = [item["id"] for item in catalogue()["item"] if (item["guide"], item["checked"]) == (guide, manner)]
            if ids:
                lines.append(f"{guide} {wording.join(ids)}: {words}.")
    return tuple(lines)


def _sources() -> str:
    return "Sources. " + " ".join(guide.full for guide in references(SOURCES))


@cache
def catalogue() -> dict[str, Any]:
    """The items as the file has them, and the ways of checking their words."""
    return tomllib.loads((files("reports.write_up") / "reporting_guide.toml").read_text("utf-8"))
