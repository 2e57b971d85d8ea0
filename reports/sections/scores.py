"""The section on hair and looks."""

from audit.analyses.agreement import ItemAgreement, MeasureAgreement
from audit.analyses.scores import SMALLEST_GROUP, ItemScores, ScoreAnswer
from audit.results import Estimate
from reports import wording
from reports.document import Column, Ledger, Section, Table
from reports.figures.labels import SPECIES, label
from reports.figures.scores import score_figures


def score_sentences(answer: ScoreAnswer) -> tuple[str, ...]:
    """The share rated first, then the median hair grade of method groups with cases enough, species apart."""
    hair = [item for item in answer.items if item.item == "hair"]
    if not hair:
        return (f"No hair grade from day {answer.from_day} on could be used.",)
    sentences = []
    for item in hair:
        large = [(group, median, n) for group, median, n in item.medians if n >= SMALLEST_GROUP]
        medians = wording.join([f"{_middle(m)} for {_group(g)} ({n})" for g, m, n in large])
        sentences.append(
            f"{SPECIES[item.species]}: hair was graded from day {answer.from_day} on in {item.scored} of {item.asked} cases; "
            + (
                f"median grade of 0 to 4 (cases): {medians}."
                if large
                else f"no method group has {SMALLEST_GROUP} of them."
            )
        )
    return tuple(sentences)


def score_section(
    answer: ScoreAnswer, agreed: tuple[ItemAgreement, ...], measured: tuple[MeasureAgreement, ...]
) -> Section:
    """Distributions by method group, chances of the higher grade, and who was rated."""
    blinded, scored = answer.blinded
    return Section(
        "scores",
        "Hair and looks across methods",
        "How do hair and scar look from three months on?",
        (
            *score_sentences(answer),
            *(
                (f"{blinded} of {wording.count(scored, 'rating')} came from raters blind to the method.",)
                if scored
                else ()
            ),
        ),
        score_figures(answer),
        ((_hair(answer), _medians(answer), _pairs(answer)) if answer.items else ())
        + ((_agreement(agreed),) if agreed else ())
        + ((_measured(measured),) if measured else ()),
        tuple(_ledger(item) for item in answer.items if item.item == "hair"),
        (
            "Grades are our own wording and unvalidated; several raters give their median, ties to the lower grade. No mean is "
            "taken of grades, and a grade is never averaged over items.",
            "Not a comparison of methods: the methods were used for different wounds.",
        ),
    )


def _agreement(agreed: tuple[ItemAgreement, ...]) -> Table:
    def coefficient(estimate: Estimate | None) -> str:
        return "too few" if estimate is None else wording.amount(estimate, places=2)

    return Table(
        "score-agreement",
        "Do raters agree, before anything is read into their grades?",
        (
            Column("Item"), Column("Photographs", align="right"), Column("Raters", align="right"), Column("Same grade, of pairs"),
            Column("Krippendorff's alpha (interval)"), Column("Gwet's AC2 (interval)"), Column("Same again, of hidden repeats"),
        ),
        tuple(
            (label("score_item", a.item).capitalize(), str(a.photographs), str(a.raters), f"{a.exact} of {a.pairs}",
             coefficient(a.alpha), coefficient(a.ac2), f"{a.repeats[1]} of {a.repeats[0]}")
            for a in agreed
        ),
        ("Photographs graded by two raters or more; alpha and AC2 are 1 for full agreement. Intervals by resampling animals.",),
    )  # fmt: skip


def _measured(measured: tuple[MeasureAgreement, ...]) -> Table:
    rows = tuple(
        (label("score_item", m.item), str(m.photographs), m.refused, "", "")
        if m.limits is None or m.correlation is None
        else (
            label("score_item", m.item),
            str(m.photographs),
            wording.amount(m.limits.bias),
            f"{wording.number(m.limits.lower.value or 0, 1)} to {wording.number(m.limits.upper.value or 0, 1)}",
            wording.amount(m.correlation, places=2),
        )
        for m in measured
    )
    return Table(
        "measure-agreement",
        "Do two raters measure alike?",
        (
            Column("Measure"), Column("Photographs", align="right"), Column("Mean difference (interval)"),
            Column("Limits that hold 95 % of differences"), Column("ICC(2,1) (interval)"),
        ),
        rows,
    )  # fmt: skip


def _group(name: str) -> str:
    return label("method_group", name)


def _hair(answer: ScoreAnswer) -> Table:
    rows = []
    for item in answer.items:
        if item.item != "hair":
            continue
        for group, median, cases in item.medians:
            mine = item.counts[item.counts["method_group"] == group]
            counts = {int(v): int(n) for v, n in zip(mine["value"], mine["cases"], strict=True)}
            cells = [str(counts.get(grade, 0)) for grade in range(item.grades)]
            rows.append((SPECIES[item.species], _group(group), str(cases), *cells, _middle(median)))
    return Table(
        "score-hair",
        "Hair cover by method: cases with each grade",
        (
            Column("Species"), Column("Method"), Column("Cases", align="right"),
            *(Column(str(grade), align="right") for grade in range(5)), Column("Median", align="right"),
        ),
        tuple(rows),
        ("0 no hair; 1 lone hairs; 2 hides skin over less than half; 3 over half or more; 4 not to be told from the coat around.",),
        (("", 3), ("Grade", 5), ("", 1)),
    )  # fmt: skip


def _medians(answer: ScoreAnswer) -> Table:
    """A row a species and method, a column an item."""
    items = list(dict.fromkeys(item.item for item in answer.items))
    found = {(i.species, group, i.item): f"{_middle(m)} ({n})" for i in answer.items for group, m, n in i.medians}
    rows = list(dict.fromkeys(key[:2] for key in found))
    return Table(
        "score-medians",
        "Median grade of each item (cases)",
        (Column("Species"), Column("Method"), *(Column(label("score_item", item)) for item in items)),
        tuple((SPECIES[s], _group(g), *(found.get((s, g, item), "none") for item in items)) for s, g in rows),
        ("Hair: higher is better, 0 to 4. Look: lower is better, 0 to 3. Limb use: higher is better, 0 to 3.",),
    )


def _middle(median: float) -> str:
    return wording.number(median, 0 if median.is_integer() else 1)


def _pairs(answer: ScoreAnswer) -> Table:
    """A row a species and pair of methods, a column an item."""
    items = list(dict.fromkeys(item.item for item in answer.items))
    found = {(i.species, a, b, i.item): estimate for i in answer.items for a, b, estimate in i.pairs}
    pairs = list(dict.fromkeys(key[:3] for key in found))
    tests = "; ".join(
        f"{SPECIES[i.species].lower()}, {label('score_item', i.item)} {wording.p_value(i.all_alike.p)}"
        for i in answer.items
        if i.all_alike
    )
    return Table(
        "score-superiority",
        "Chance that a case of the first method has the higher grade than one of the second",
        (Column("Species"), Column("Methods"), *(Column(label("score_item", item)) for item in items)),
        tuple(
            (SPECIES[s], f"{_group(a)} over {_group(b)}", *(_chance(found.get((s, a, b, item))) for item in items))
            for s, a, b in pairs
        ),
        (
            "In brackets: interval, which allows for several grafts of one animal; then the cases. Ties count half; one half means "
            "no difference. A higher hair grade is better, a higher look grade worse. Only groups of three animals or more. "
            "Exploratory: so many pairs will show some difference by chance.",
            *(
                (f"Whether all such groups could be graded alike (Kruskal-Wallis, permutation of animals): {tests}.",)
                if tests
                else ()
            ),
        ),
    )


def _chance(estimate: Estimate | None) -> str:
    if estimate is None:
        return "too few"
    value, low, high = (wording.number(end or 0.0, 2) for end in (estimate.value, estimate.low, estimate.high))
    return f"{value} ({low} to {high}); {estimate.denominator}"


def _ledger(item: ItemScores) -> Ledger:
    rows = item.counts.sort_values(["method_group", "value"]).itertuples(index=False)
    groups = tuple((f"{_group(row.method_group)}, grade {row.value:g}", tuple(row.case_codes)) for row in rows)
    return Ledger(f"{label('score_item', item.item).capitalize()}: {SPECIES[item.species]}", groups)
