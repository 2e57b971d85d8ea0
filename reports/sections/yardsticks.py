"""The section that holds rules of thumb and published figures beside the practice's own."""

from collections.abc import Sequence

from audit.analyses.yardsticks import Yardstick, YardstickAnswer
from audit.protocol import Protocol
from audit.stats.benchmark import CANNOT_TELL
from reports import wording
from reports.document import Column, Ledger, Section, Table
from reports.figures.labels import SPECIES
from reports.figures.yardsticks import yardstick_figures

MANY = 1000
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
        return "no case bears on it"
    if yardstick.verdict is None:
        return "no verdict: range of times" if yardstick.quantity == "median_days" else "no verdict: too few cases"
    word, more = yardstick.verdict.word, yardstick.verdict.cases_to_tell
    if yardstick.kind == "target":
        word = {"consistent with": "target reached", "lower": "target not reached"}.get(word, word)
    elif word == "consistent with":
        word = "consistent with our cases"
    elif word != CANNOT_TELL:
        word = f"ours is {word}"
    if word != CANNOT_TELL or not more:
        return word
    cases = f"about {wording.count(more, 'case')}" if more <= MANY else f"more than {MANY:,} cases"
    return f"{word}; {cases} in all would tell"


def yardstick_section(answer: YardstickAnswer, protocol: Protocol) -> Section:
    """Target, rules of thumb and published figures, each with both definitions and a verdict that may be open."""
    smallest = protocol.analysis.smallest_percentage
    return Section(
        "yardsticks",
        "Rules of thumb and published figures",
        "Is what people say true here?",
        yardstick_sentences(answer),
        yardstick_figures(answer),
        (
            _table("target", "The target of this audit", answer.target, smallest, "Target"),
            _table("rules", "Rules of thumb: common practice, no source", answer.rules, smallest, "Rule of thumb"),
            _published(answer.published, smallest),
        ),
        tuple(
            Ledger(f"{y.name}: {SPECIES[y.species]}", (("counted", y.cases), ("cannot tell", y.unknown)))
            for y in (*answer.target, *answer.rules)
            if y.own is not None
        ),
        (
            "A rule of thumb is not a standard. Published figures come from other wounds, other animals and other definitions; "
            "the columns say where they differ. \u201cCannot tell\u201d means that so few cases allow either answer; it never means "
            "that there is no difference.",
        ),
    )


def own_words(yardstick: Yardstick, smallest: int) -> str:
    """Our own value with its interval and number of cases."""
    own = yardstick.own
    if own is None:
        return "no case bears on it"
    if yardstick.quantity in SHARES:
        few = f" ({wording.share_interval(own)})" if (own.denominator or 0) < smallest else ""
        return wording.share(own, smallest) + few
    if yardstick.quantity == "bandage_changes":
        return f"{wording.amount(own, 'changes')}; {wording.count(len(yardstick.cases), 'case')}"
    if yardstick.quantity == "bandage_gap_early":
        return f"{wording.amount(own, 'days')}; {wording.count(len(yardstick.cases), 'case')}"
    return f"{wording.time(own)}; {wording.count(len(yardstick.cases), 'case')}{_by_their_median(yardstick)}"


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
    return wording.percent_range(low, high) if yardstick.quantity in SHARES else f"{low:g} to {high:g}"


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


def _published(rows: Sequence[Yardstick], smallest: int) -> Table:
    return Table(
        "yardsticks-published",
        "Published figures, each with its definition and how far it was read",
        (
            Column("Source (how far read)"), Column("Who, and what was counted"), Column("Theirs"), Column("Ours, same method"),
            Column("Where they differ"), Column("Verdict"),
        ),
        tuple(
            (f"{y.name} ({y.read})", y.their_definition, _theirs(y), f"{SPECIES[y.species]}: {own_words(y, smallest)}", y.differs,
             verdict_words(y))
            for y in rows
        ),
        ("Intervals of published shares were computed here (Clopper-Pearson) and ignore grafts of one animal being alike.",),
    )  # fmt: skip


def _theirs(yardstick: Yardstick) -> str:
    point = yardstick.theirs_point
    if yardstick.quantity in SHARES and point is not None:
        return f"{wording.percent(point)} of {yardstick.theirs_n} ({_range_words(yardstick)})"
    return f"day {point:g} in {yardstick.theirs_n} (printed range {_range_words(yardstick)})"
