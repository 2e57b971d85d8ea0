"""The section that holds rules of thumb and published figures beside the practice's own."""

from collections.abc import Sequence

from audit.analyses.yardsticks import Yardstick, YardstickAnswer
from audit.results import Estimate
from audit.stats.verdict import CANNOT_TELL
from reports import wording
from reports.document import Column, Ledger, Section, Table
from reports.figures.labels import SPECIES

MANY = 1000
NOUNS = {"sutures_out": "donor site"}
SHARES = ("take", "healed_by", "sutures_out", "complication", "major_complication")


def yardstick_sentences(answer: YardstickAnswer, *quantities: str) -> tuple[str, ...]:
    """One sentence a rule of thumb with the verdict for each species; only of these quantities where any is named."""
    sentences = []
    for name in dict.fromkeys(rule.name for rule in answer.rules if rule.quantity in quantities or not quantities):
        mine = [rule for rule in answer.rules if rule.name == name]
        verdicts = "; ".join(f"{SPECIES[rule.species].lower()}: {verdict_words(rule)}" for rule in mine)
        sentences.append(f"Rule of thumb \u201c{name}\u201d: {verdicts}.")
    return tuple(sentences)


def verdict_words(yardstick: Yardstick) -> str:
    """The verdict, and how many more cases would tell where it is open."""
    if yardstick.own is None:
        return _nothing(yardstick)
    if yardstick.verdict is None:
        return f"no verdict: {yardstick.refused}" if yardstick.refused else "no verdict"
    word, more = yardstick.verdict.word, yardstick.verdict.cases_to_tell
    if yardstick.kind == "target":
        word = {"consistent with": "target reached", "lower": "target not reached"}.get(word, word)
    elif word == "consistent with":
        word = "consistent with our cases"
    elif word != CANNOT_TELL:
        word = f"ours is {word}"
    if word != CANNOT_TELL or not more:
        return word
    # A share is of reconstructions; the width of any other interval follows the animals.
    noun = "animal" if yardstick.verdict.estimate.numerator is None else NOUNS.get(yardstick.quantity, "reconstruction")
    cases = f"about {wording.count(more, noun)}" if more <= MANY else f"more than {MANY:,} {wording.plural(noun, MANY)}"
    return f"{word}; {cases} in all would tell"


def _nothing(yardstick: Yardstick) -> str:
    return "no case of ours is known" if yardstick.unknown else "no case bears on it"


def yardstick_section(answer: YardstickAnswer) -> Section:
    """The verdict on each rule of thumb, and the cases behind it."""
    return Section(
        id="yardsticks",
        title="Rules of thumb and published figures",
        question="Is what people say true here?",
        sentences=yardstick_sentences(answer) or (_no_rule(answer),),
        ledgers=tuple(
            Ledger(f"{y.name}: {SPECIES[y.species]}", (("counted", y.cases), ("cannot tell", y.unknown)))
            for y in (*answer.target, *answer.rules)
            if y.own is not None
        ),
        remarks=(
            "A rule of thumb is not a standard. Published figures come from other wounds, other animals and other definitions; "
            "the columns say where they differ. \u201cCannot tell\u201d means that so few cases allow either answer; it never means "
            "that there is no difference.",
        ),
    )


def _no_rule(answer: YardstickAnswer) -> str:
    if answer.published:
        return "No rule of thumb is asked about; published figures stand beside ours in the table."
    return "No rule of thumb and no published figure is set beside these cases."


def own_words(yardstick: Yardstick, smallest: int) -> str:
    """Our own value with its interval and number of cases."""
    own = yardstick.own
    if own is None:
        return _nothing(yardstick)
    if yardstick.quantity in SHARES:
        few = f" ({wording.share_interval(own)})" if (own.denominator or 0) < smallest else ""
        return wording.share(own, smallest) + few
    if yardstick.quantity == "bandage_changes":
        return f"{wording.amount(own, 'changes', places=_places(own))}; {wording.count(len(yardstick.cases), 'case')}"
    if yardstick.quantity == "bandage_gap_early":
        return f"{wording.amount(own, 'days')}; {wording.count(len(yardstick.cases), 'case')}"
    return f"{wording.time(own)}; {wording.count(len(yardstick.cases), 'case')}{_by_their_median(yardstick)}"


def _places(own: Estimate) -> int:
    """None for medians of whole numbers."""
    return 0 if all(float(end).is_integer() for end in (own.value, own.low, own.high) if end is not None) else 1


def _by_their_median(yardstick: Yardstick) -> str:
    """Our share healed by the day by which half of theirs had, which needs no guess of how their others healed."""
    share = yardstick.by_their_median
    if share is None or share.value is None or share.value_to is None:
        return ""
    healed = f"{wording.percent_range(share.value, share.value_to)} ({wording.share_interval(share)})"
    return f"; by day {yardstick.theirs_point:g}, when half of theirs had healed, {healed} of ours had"


def _range_words(yardstick: Yardstick) -> str:
    low, high = yardstick.theirs
    if low is None or high is None:
        return "not printed"
    if yardstick.quantity not in SHARES:
        return f"{low:g} to {high:g}{f', give or take {yardstick.margin:g}' if yardstick.margin else ''}"
    margin = f", give or take {wording.percent(yardstick.margin)}" if yardstick.margin else ""
    return f"{wording.percent_range(low, high)}{margin}"


def target_table(answer: YardstickAnswer, smallest: int) -> Table:
    """A row a species: the protocol's target with both definitions and the verdict."""
    return _table("target", "The target of this audit", answer.target, smallest, "Target")


def rule_table(answer: YardstickAnswer, smallest: int) -> Table:
    """A row a rule of thumb and species, with both definitions and the verdict."""
    return _table("rules", "Rules of thumb: common practice, no source", answer.rules, smallest, "Rule of thumb")


def _table(identifier: str, title: str, rows: Sequence[Yardstick], smallest: int, first: str) -> Table:
    return Table(
        f"yardsticks-{identifier}",
        title,
        (Column(first), Column("Species"), Column("What we count"), Column("Ours"), Column("Verdict")),
        tuple(
            (
                f"{y.their_definition} ({_range_words(y)})",
                SPECIES[y.species],
                y.our_definition,
                own_words(y, smallest),
                verdict_words(y),
            )
            for y in rows
        ),
    )


def published_table(answer: YardstickAnswer, smallest: int) -> Table:
    """A row a published figure and species, with both definitions and where they differ."""
    return Table(
        "yardsticks-published",
        "Published figures, each with its definition and how far it was read",
        (
            Column("Source (how far read)"), Column("Who, and what was counted"), Column("Theirs"), Column("Ours, same method"),
            Column("Where they differ"), Column("Verdict"),
        ),
        tuple(
            (f"{y.name} ({y.read})", y.their_definition, _theirs(y), f"{SPECIES[y.species]}, {y.our_definition}: {own_words(y, smallest)}", y.differs,
             verdict_words(y))
            for y in answer.published
        ),
        ("Intervals of published shares were computed here (Clopper-Pearson) and ignore grafts of one animal being alike.",),
    )  # fmt: skip


def _theirs(yardstick: Yardstick) -> str:
    point = yardstick.theirs_point
    if yardstick.quantity in SHARES and point is not None:
        return f"{wording.percent(point)} of {yardstick.theirs_n} ({_range_words(yardstick)})"
    return f"day {point:g} in {yardstick.theirs_n} (printed range {_range_words(yardstick)})"
