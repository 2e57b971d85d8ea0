"""What the grades, comparisons and models of this audit say against themselves, in this series' own numbers."""

from collections.abc import Iterator

from audit.analyses.run import Audit
from audit.results import Estimate
from reports import wording
from reports.figures.labels import label
from reports.write_up.limitations.checks import Check, Raised, cases, of

FEWEST_VALUES = 5
COMPARED = "scores.items factors.models factors.curves factors.standardised"
ALIKE = {"pairs": 0.5, "ratios": 1.0, "differences": 0.0}


def _unblinded(audit: Audit) -> Raised:
    (blind, known), unknown = audit.scores.blinded, audit.scores.blinding_unknown
    if blind == known and not unknown:
        return {}
    words = [of(blind, known, "rating")] if known else []
    words += [f"not on record for {wording.count(unknown, 'rating')}"] if unknown else []
    return {"blind": ("; ".join(words), "scores.blinded scores.blinding_unknown")}


def _few_graded(audit: Audit) -> Raised:
    if not audit.scores.items:
        return {"graded": (f"none of {wording.count(cases(audit), 'case')}", "scores.items")}
    first = audit.scores.items[0].item
    items = [item for item in audit.scores.items if item.item == first]
    words = [f"{of(item.scored, item.asked, 'case')} in {wording.plural(item.species, 2)}" for item in items]
    short = any(item.scored < item.asked for item in items)
    return (
        {"graded": (f"{label('score_item', first)} in {wording.join(words)}", f"scores.items.{first}.scored")}
        if short
        else {}
    )


def _hair_not_judged(audit: Audit) -> Raised:
    hair = [item for item in audit.scores.items if item.item == "hair"]
    unjudged = sum(
        n for item in hair for reason, n in item.reasons if reason.split()[0] in ("clipped", "before", "after")
    )
    asked = sum(item.asked for item in hair)
    return {"unjudged": (of(unjudged, asked, "case"), "scores.items.hair.reasons")} if unjudged else {}


def _own_scales(audit: Audit) -> Raised:
    graded = {item.item for item in audit.scores.items}
    return {"items": (wording.count(len(graded), "graded item"), "scores.items")} if graded else {}


def _no_double_grading(audit: Audit) -> Raised:
    alone = audit.scores.items and not audit.agreement
    return {"photographs": ("no photograph", "agreement")} if alone else {}


def _agreement_few(audit: Audit) -> Raised:
    most = max((item.photographs for item in audit.agreement if item.refused), default=0)
    return {"photographs": (f"at most {wording.count(most, 'photograph')}", "agreement.photographs")} if most else {}


def _digit_preference(audit: Audit) -> Raised:
    alive = audit.take.values["viable_pct"].dropna().astype(float)
    between = alive[(alive > 0) & (alive < 100)]
    tens = int((between % 10 == 0).sum())
    # One in ten would be by chance.
    if len(between) < FEWEST_VALUES or 2 * tens <= len(between):
        return {}
    return {"tens": (f"{tens:,} of {len(between):,}", "take.values.viable_pct")}


def _small_groups(audit: Audit) -> Raised:
    fewest = audit.protocol.analysis.smallest_percentage
    groups = [*audit.take.by_location, *audit.take.by_method]
    small = sum(group.cases.asked < fewest for group in groups)
    if not small:
        return {}
    return {
        "small": (f"{small:,} of {len(groups):,}", "take.by_location take.by_method"),
        "fewest": (wording.count(fewest, "case"), "protocol.analysis.smallest_percentage"),
    }


def _perfect_run(audit: Audit) -> Raised:
    runs = [group for group in audit.take.overall if group.share and not group.cases.sure_no]
    words = [
        f"{audit.take.question} in {of(group.cases.known, group.cases.known, 'known case')} "
        f"in {wording.plural(group.species, 2)} ({wording.share_interval(group.share.estimate)})"
        for group in runs
        if group.share
    ]
    return {"runs": ("; ".join(words), "take.overall")} if words else {}


def _compared(audit: Audit) -> Iterator[tuple[Estimate, float]]:
    """Every comparison that has an interval, and the value at which there would be no difference."""
    for item in audit.scores.items:
        yield from ((estimate, ALIKE["pairs"]) for _, _, estimate in item.pairs)
    for model in audit.factors.models:
        yield from ((estimate, ALIKE["ratios"]) for estimate in model.ratios)
    for _, standardised, _ in audit.factors.standardised:
        if standardised:
            yield from ((estimate, ALIKE["differences"]) for estimate in standardised.differences)


def _many_questions(audit: Audit) -> Raised:
    tests = sum(item.all_alike is not None for item in audit.scores.items)
    tests += sum(test is not None for _, test, _ in audit.factors.curves)
    times = tests + len(list(_compared(audit)))
    return {"times": (wording.count(times, "time"), COMPARED)} if times > 1 else {}


def _not_shown_is_not_equal(audit: Audit) -> Raised:
    every = [(estimate, alike) for estimate, alike in _compared(audit) if None not in (estimate.low, estimate.high)]
    unsure = sum(estimate.low <= alike <= estimate.high for estimate, alike in every)  # type: ignore[operator]
    return {"open": (of(unsure, len(every), "comparison"), COMPARED)} if unsure else {}


def _no_adjustment(audit: Audit) -> Raised:
    refused = sum(bool(model.refused) for model in audit.factors.models)
    return {"refused": (of(refused, len(audit.factors.models), "model"), "factors.models.refused")} if refused else {}


def _circle_for_perimeter(audit: Audit) -> Raised:
    measured = audit.wound_closure.cases
    circle = int(measured["by_circle"].astype(bool).sum())
    return {"circle": (of(circle, len(measured), "case"), "wound_closure.cases.by_circle")} if circle else {}


# Raised by shares, models and tests, of which a series chosen for how its cases ended has none.
NEED_RISKS = ("small-groups", "perfect-run", "many-questions", "not-shown-is-not-equal", "no-adjustment")
CHECKS: dict[str, Check] = {
    "unblinded": _unblinded,
    "few-graded": _few_graded,
    "hair-not-judged": _hair_not_judged,
    "own-scales": _own_scales,
    "no-double-grading": _no_double_grading,
    "agreement-few": _agreement_few,
    "digit-preference": _digit_preference,
    "small-groups": _small_groups,
    "perfect-run": _perfect_run,
    "many-questions": _many_questions,
    "not-shown-is-not-equal": _not_shown_is_not_equal,
    "no-adjustment": _no_adjustment,
    "circle-for-perimeter": _circle_for_perimeter,
}
