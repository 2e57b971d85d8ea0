"""The section on what goes with healing, take and hair."""

from audit.analyses.factors import FactorAnswer, Model
from reports import wording
from reports.document import Column, Ledger, Section, Table
from reports.figures.factors import MEANS
from reports.figures.labels import SPECIES, label


def factor_sentences(answer: FactorAnswer) -> tuple[str, ...]:
    """What each model found, how curves of the kinds of graft compare, and why take was not standardised."""
    return (*_model_sentences(answer), *_curve_sentences(answer), *_not_standardised(answer))


def factor_section(answer: FactorAnswer) -> Section:
    """Models that the data could bear, and the cases in them."""
    return Section(
        id="what-goes-with",
        title="What goes with healing and take",
        question="Do size, site and bed go with the result, and do kinds of graft differ once that is allowed for?",
        sentences=factor_sentences(answer),
        ledgers=tuple(
            Ledger(f"Cases in the model: {m.outcome}, {SPECIES[m.species].lower()}", (("used", m.cases),))
            for m in answer.models
        ),
        remarks=(
            "Exploratory: these questions were not the primary one, and no allowance is made for their number. A factor that goes "
            "with an outcome need not cause it; the surgeon chose the method for the wound.",
            "A model needs five events for each factor, and is refused with fewer.",
        ),
    )


def _model_sentences(answer: FactorAnswer) -> list[str]:
    sentences = []
    for model in answer.models:
        if not model.ratios:
            continue
        clear = [r for r in model.ratios if r.low is not None and r.high is not None and (r.low > 1 or r.high < 1)]
        named = wording.join([f"{r.group} ({wording.amount(r, places=2)})" for r in clear])
        sentences.append(
            f"{SPECIES[model.species]}, {model.outcome} ({MEANS[model.outcome]}): "
            + (
                f"the interval of {named} leaves out 1."
                if clear
                else "no factor's interval leaves out 1; none is shown to be without effect."
            )
        )
    return sentences or ["There are too few cases for any model of what goes with healing, take or hair."]


def _curve_sentences(answer: FactorAnswer) -> list[str]:
    sentences = []
    for species, test, refused in answer.curves:
        if test is None:
            sentences.append(
                f"{SPECIES[species]}: healing curves of the kinds of graft are not compared, as {refused}."
            )
            continue
        names = wording.join(
            [f"{label('method_group', g)} ({n})" for g, n in zip(test.groups, test.cases, strict=True)]
        )
        p = wording.p_value(test.p if test.p is not None else test.p_normal)
        sentences.append(f"{SPECIES[species]}: a log-rank test for visit intervals between {names} gives {p}.")
    return sentences


def _not_standardised(answer: FactorAnswer) -> list[str]:
    return [
        f"{SPECIES[species]}: take of the kinds of graft is not standardised: {refused}."
        for species, mix, refused in answer.standardised
        if mix is None
    ]


def factor_ratio_table(answer: FactorAnswer) -> Table:
    """A row a model and factor: its ratio, or why there is none, and how the model fits."""
    rows: list[tuple[str, ...]] = []
    for model in answer.models:
        head = (SPECIES[model.species], f"{model.outcome} ({len(model.cases)} cases)")
        if not model.ratios:
            rows.append((*head, "refused", model.refused, ""))
        rows += [(*head, r.group, wording.amount(r, places=2), _fit(model)) for r in model.ratios]
        rows += [(*head, factor, "the same in all cases", "") for factor in model.left_out if model.ratios]
    means = "; ".join(f"{outcome}: {words}" for outcome, words in MEANS.items())
    return Table(
        "factor-ratios",
        "Time ratios and odds ratios, each adjusted for the other factors",
        (Column("Species"), Column("Outcome"), Column("Factor"), Column("Ratio (interval)"), Column("Fit of the model")),
        tuple(rows),
        (f"{wording.sentence(means)} Fit: the greatest distance between the model's and the data's healing curve, or p of the "
         "check that odds are proportional.",),
    )  # fmt: skip


def _fit(model: Model) -> str:
    return "; ".join(
        wording.p_value(value) if name.startswith("p of") else f"off by {wording.percent(value)} at most"
        for name, value in model.check
    )


def standardised_table(answer: FactorAnswer) -> Table | None:
    """Take of the kinds of graft as it was and over one mix of sites; None where it could not be standardised."""
    rows: list[tuple[str, ...]] = []
    for species, mix, _ in answer.standardised:
        if mix is None:
            continue
        for name, crude, share in zip(mix.groups, mix.crude, mix.shares, strict=True):
            rows.append(
                (
                    SPECIES[species],
                    label("method_group", name),
                    *(_share(e.value, wording.ends(e)) for e in (crude, share)),
                )
            )
    if not rows:
        return None
    return Table(
        "take-standardised",
        "Take of the kinds of graft as it was, and over one mix of sites",
        (Column("Species"), Column("Kind of graft"), Column("As it was"), Column("Over one mix")),
        tuple(rows),
        (
            "Standardised to the mix of distal limb or pad and other sites of all these cases. It removes only what the mix records.",
        ),
    )


def _share(value: float | None, around: str) -> str:
    return "none" if value is None else f"{wording.percent(value)} ({around})"
