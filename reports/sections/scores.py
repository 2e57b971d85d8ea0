"""The section on hair and looks."""

from math import comb

from audit.analyses.groups import GroupShare
from audit.analyses.scores import SMALLEST_GROUP, ItemScores, ScoreAnswer
from audit.results import Estimate
from reports import wording
from reports.document import Column, Ledger, Section, Table
from reports.figures.labels import SPECIES, label
from reports.sections.owners import owner_ledgers, owner_sentences
from reports.sections.shares import share_ledger, share_table

APART_BELOW = 0.05


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


def blinded_sentences(answer: ScoreAnswer) -> tuple[str, ...]:
    """How many ratings came from raters blind to the method, of those known; nothing where nothing was rated."""
    (blinded, known), unknown = answer.blinded, answer.blinding_unknown
    if not known:
        ratings = wording.count(unknown, "rating")
        return (f"Of {ratings} none tells whether the rater was blind to the method.",) if unknown else ()
    more = f"; of {unknown:,} more it is not on record" if unknown else ""
    return (f"{blinded:,} of {wording.count(known, 'rating')} came from raters blind to the method{more}.",)


def score_section(answer: ScoreAnswer) -> Section:
    """Who was graded, the medians of hair, how far raters were blind, and owners' own marks."""
    return Section(
        id="scores",
        title="Hair and looks across methods",
        question="How do hair and scar look from three months on?",
        sentences=(
            *score_sentences(answer),
            *blinded_sentences(answer),
            *owner_sentences(answer.owners),
        ),
        ledgers=(
            *(_ledger(item) for item in answer.items if item.item == "hair"),
            *(share_ledger(group, "method_group", group.cases.question.capitalize()) for group in _graded(answer)),
            *owner_ledgers(answer.owners),
        ),
        remarks=(
            "Grades are our own wording and unvalidated; several raters give their median, ties to the lower grade. No mean is "
            "taken of grades, and a grade is never averaged over items.",
            "Not a comparison of methods: the methods were used for different wounds.",
        )
        if answer.items
        else (),
    )


def _group(name: str) -> str:
    return label("method_group", name)


def score_hair_table(answer: ScoreAnswer) -> Table:
    rows = []
    for item in answer.items:
        if item.item != "hair":
            continue
        for group, median, cases in item.medians:
            in_group = item.counts[item.counts["method_group"] == group]
            counts = {int(v): int(n) for v, n in zip(in_group["value"], in_group["cases"], strict=True)}
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


def good_hair_table(answer: ScoreAnswer, smallest: int) -> Table | None:
    """None where no hair was graded; of fewer than `smallest` graded cases the share is told in counts."""
    groups = _graded(answer)
    if not groups:
        return None
    title = f"Cases with {groups[0].cases.question}"
    note = f"Graded from day {answer.from_day} on; a case without a grade that counts cannot be told."
    return share_table("score-good-hair", title, groups, "method_group", smallest, notes=(note,))


def _graded(answer: ScoreAnswer) -> list[GroupShare]:
    return [group for group in answer.good_hair if group.cases.known]


def score_medians_table(answer: ScoreAnswer) -> Table:
    """A row a species and method, a column an item."""
    items = list(dict.fromkeys(item.item for item in answer.items))
    medians = {(i.species, group, i.item): f"{_middle(m)} ({n})" for i in answer.items for group, m, n in i.medians}
    rows = list(dict.fromkeys(key[:2] for key in medians))
    return Table(
        "score-medians",
        "Median grade of each item (cases)",
        (Column("Species"), Column("Method"), *(Column(label("score_item", item)) for item in items)),
        tuple((SPECIES[s], _group(g), *(medians.get((s, g, item), "none") for item in items)) for s, g in rows),
        ("Hair: higher is better, 0 to 4. Look: lower is better, 0 to 3. Limb use: higher is better, 0 to 3.",),
    )


def _middle(median: float) -> str:
    return wording.number(median, 0 if median.is_integer() else 1)


def score_pairs_table(answer: ScoreAnswer) -> Table:
    """A row a species and pair of methods, a column an item."""
    items = list(dict.fromkeys(item.item for item in answer.items))
    chances = {(i.species, a, b, i.item): estimate for i in answer.items for a, b, estimate in i.pairs}
    pairs = list(dict.fromkeys(key[:3] for key in chances))
    return Table(
        "score-superiority",
        "Chance that a case of the first method has the higher grade than one of the second",
        (Column("Species"), Column("Methods"), *(Column(label("score_item", item)) for item in items)),
        tuple(
            (SPECIES[s], f"{_group(a)} over {_group(b)}", *(_chance(chances.get((s, a, b, item))) for item in items))
            for s, a, b in pairs
        ),
        (
            "In brackets: interval, which allows for several grafts of one animal; then the cases. Ties count half; one half means "
            "no difference. A higher hair grade is better, a higher look grade worse. Only groups of three animals or more. "
            "Exploratory: so many pairs will show some difference by chance.",
        ),
    )


def score_alike_table(answer: ScoreAnswer) -> Table | None:
    """A row a species and item whose method groups could be tested together; none where none could."""
    rows = [
        (SPECIES[i.species], label("score_item", i.item).capitalize(), wording.p_value(i.all_alike.p), *_told_apart(i))
        for i in answer.items
        if i.all_alike
    ]
    if not rows:
        return None
    return Table(
        "score-alike",
        "Could all method groups be graded alike, and which pairs are told apart?",
        (
            Column("Species"), Column("Item"), Column("All alike? (Kruskal-Wallis)"), Column("Pairs", align="right"),
            Column("Pairs told apart (Dunn, after Holm)"),
        ),
        tuple(rows),
        (
            f"Groups of {SMALLEST_GROUP} animals or more. Kruskal-Wallis by permutation of animals; pairs by Dunn's test with "
            f"Holm's correction over the pairs of an item, told apart where p is under {APART_BELOW:g}. A pair that is not told apart is "
            "not shown to be alike. Exploratory; not a comparison of methods.",
        ),
    )  # fmt: skip


def _told_apart(item: ItemScores) -> tuple[str, str]:
    groups = 2 if item.all_alike is None else item.all_alike.degrees_of_freedom + 1
    if groups == 2:
        return "1", "as in the test of all"
    if not item.apart:
        return str(comb(groups, 2)), "not tested, as animals have several cases"
    apart = [(a, b, pair.p_holm) for a, b, pair in item.apart if pair.p_holm < APART_BELOW]
    words = "; ".join(f"{_group(a)} and {_group(b)} ({wording.p_value(p)})" for a, b, p in apart)
    return str(len(item.apart)), words or "none can be told apart"


def _chance(estimate: Estimate | None) -> str:
    if estimate is None:
        return "too few"
    value, low, high = (wording.number(end or 0.0, 2) for end in (estimate.value, estimate.low, estimate.high))
    return f"{value} ({low} to {high}); {estimate.denominator}"


def _ledger(item: ItemScores) -> Ledger:
    rows = item.counts.sort_values(["method_group", "value"]).itertuples(index=False)
    groups = tuple((f"{_group(row.method_group)}, grade {row.value:g}", tuple(row.case_codes)) for row in rows)
    return Ledger(f"{label('score_item', item.item).capitalize()}: {SPECIES[item.species]}", groups)
