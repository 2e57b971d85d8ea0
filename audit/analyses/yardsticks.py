"""Rules of thumb and published figures beside the practice's own, with definitions side by side; often: cannot tell."""

from dataclasses import dataclass, replace

import pandas as pd

from audit.analyses.bandages import BandageAnswer
from audit.analyses.complications import ComplicationAnswer
from audit.analyses.donor import DonorAnswer
from audit.analyses.groups import GroupShare, by_species
from audit.analyses.healing import HealingAnswer, HealingCurve
from audit.analyses.published import PublishedFigure, published_figures
from audit.analyses.take import TakeAnswer
from audit.protocol import Protocol, RuleOfThumb
from audit.results import Estimate, Span
from audit.stats.benchmark import DAY_WORDS, SHARE_WORDS, Verdict, verdict
from audit.stats.median import median_interval
from audit.stats.proportions import newcombe_difference

FEWEST_FOR_A_VERDICT = 5


@dataclass(frozen=True, slots=True)
class Yardstick:
    """
    One outside figure beside our own.

    `kind` is rule_of_thumb or published. `theirs` is a range (a rule of thumb, a printed range) or an interval computed
    here from printed counts; `own` is None where no case of ours bears on it. `verdict` is None where a verdict would
    rest on fewer than five cases, or on a printed range of times, which is no interval. `read` tells how far a paper
    was read.
    """

    kind: str
    name: str
    species: str
    quantity: str
    theirs: tuple[float | None, float | None]
    theirs_point: float | None
    theirs_n: int | None
    their_definition: str
    our_definition: str
    differs: str
    read: str
    own: Estimate | None
    cases: tuple[str, ...]
    unknown: tuple[str, ...]
    verdict: Verdict | None


@dataclass(frozen=True, slots=True)
class YardstickAnswer:
    """The protocol's own target, its rules of thumb in its order, and the published figures."""

    target: tuple[Yardstick, ...]
    rules: tuple[Yardstick, ...]
    published: tuple[Yardstick, ...]


@dataclass(frozen=True, slots=True)
class Answers:
    """The answers that yardsticks are held against."""

    take: TakeAnswer
    healing: HealingAnswer
    complications: ComplicationAnswer
    donor: DonorAnswer
    bandages: BandageAnswer


Own = tuple[str, Estimate | None, tuple[str, ...], tuple[str, ...], str]


def yardsticks(answers: Answers, protocol: Protocol) -> YardstickAnswer:
    """Hold our own estimates, species by species, against every yardstick that has a counterpart here."""
    return YardstickAnswer(
        tuple(_against_target(own, protocol) for own in _own(_primary(protocol), protocol.healing.days[0], answers)),
        tuple(
            _against_rule(rule, own)
            for rule in protocol.rule_of_thumb
            for own in _own(rule.quantity, rule.day, answers)
        ),
        tuple(
            _against_paper(figure, own, protocol.analysis.level)
            for figure in published_figures()
            for own in _counterparts(figure, answers)
        ),
    )


def _primary(protocol: Protocol) -> str:
    return "take" if protocol.analysis.primary_outcome == "take" else "healed_by"


def _own(quantity: str, day: int, answers: Answers) -> list[Own]:
    if quantity == "take":
        return [_share(group, f"{answers.take.question}, of the current outline") for group in answers.take.overall]
    if quantity == "sutures_out":
        return [_share(group, group.cases.question) for group in answers.donor.sutures]
    if quantity == "healed_by":
        return [_healed_by(curve, day) for curve in answers.healing.overall]
    return [
        (species, *_bandage(quantity, part), BANDAGE_WORDS[quantity])
        for species, part in by_species(answers.bandages.cases)
    ]


def _share(group: GroupShare, definition: str) -> Own:
    known = (*group.cases.sure_yes, *group.cases.sure_no)
    return group.species, group.share.estimate if group.share else None, known, group.cases.cannot_tell, definition


def _healed_by(curve: HealingCurve, day: int) -> Own:
    for asked, group, estimate in curve.shares:
        if asked == day:
            known = (*group.cases.sure_yes, *group.cases.sure_no)
            return curve.species, estimate, known, group.cases.cannot_tell, f"seen fully epithelialised by day {day}"
    return curve.species, None, (), (), f"day {day} is not among the days that the protocol asks about"


BANDAGE_WORDS = {
    "bandage_gap_early": "median over cases of the mean days between changes in the first seven days",
    "first_change": "median day of the first change after surgery",
    "bandage_changes": "median number of changes recorded in cases seen healed",
}


def _bandage(quantity: str, cases: pd.DataFrame) -> tuple[Estimate | None, tuple[str, ...], tuple[str, ...]]:
    if quantity == "bandage_gap_early":
        usable = cases[(cases["followed_to"] >= 7) & (cases["changes_by_7"] > 0)]
        values = 7 / usable["changes_by_7"].to_numpy(float)
    elif quantity == "first_change":
        usable = cases[cases["first_change_day"].notna()]
        values = usable["first_change_day"].to_numpy(float)
    else:
        usable = cases[cases["is_healed"].astype(bool)]
        values = usable["changes"].to_numpy(float)
    unknown = cases.loc[~cases.index.isin(usable.index), "case_code"]
    estimate = median_interval(values, quantity=quantity, unit="reconstructions") if len(values) else None
    return estimate, tuple(usable["case_code"]), tuple(unknown)


def _against_rule(rule: RuleOfThumb, own: Own) -> Yardstick:
    species, estimate, cases, unknown, ours = own
    return Yardstick(
        "rule_of_thumb",
        rule.name,
        species,
        rule.quantity,
        (rule.low, rule.high),
        None,
        None,
        rule.says,
        ours,
        "common practice, no source",
        "no source",
        estimate,
        cases,
        unknown,
        _judged(estimate, cases, (rule.low, rule.high), rule.margin, _words(rule.quantity)),
    )


def _judged(
    estimate: Estimate | None,
    cases: tuple[str, ...],
    theirs: Span,
    margin: float = 0.0,
    words: tuple[str, str] = SHARE_WORDS,
) -> Verdict | None:
    """The verdict; none from so few cases that a single one would turn it."""
    if estimate is None or len(cases) < FEWEST_FOR_A_VERDICT:
        return None
    return verdict(estimate, theirs, margin, words=words)


def _words(quantity: str) -> tuple[str, str]:
    return DAY_WORDS if quantity in BANDAGE_WORDS and quantity != "bandage_changes" else SHARE_WORDS


def _against_target(own: Own, protocol: Protocol) -> Yardstick:
    species, estimate, cases, unknown, ours = own
    target = protocol.protocol.target_pct / 100
    return Yardstick(
        "target", "The target of this audit", species, _primary(protocol), (target, 1.0), target, None,
        protocol.protocol.criterion, ours, f"source of the target: {protocol.protocol.target_source.replace('_', ' ')}",
        "no source", estimate, cases, unknown,
        _judged(estimate, cases, (target, 1.0)),
    )  # fmt: skip


def _counterparts(figure: PublishedFigure, answers: Answers) -> list[Own]:
    """Our own cases of the same species and method group, or of both species where the paper pools them."""

    def same(species: str, group: str) -> bool:
        return group == figure.method_group and figure.species in (species, "both")

    if figure.quantity == "median_days":
        return [
            (
                curve.species,
                curve.median,
                tuple(curve.codes),
                (),
                "median day of complete epithelialisation, seen at visits",
            )
            for curve in answers.healing.by_method
            if same(curve.species, curve.group)
        ]
    groups = {
        "take": answers.take.by_method_group,
        "complication": answers.complications.by_method,
        "major_complication": answers.complications.major_by_method,
    }[figure.quantity]
    return [_share(group, group.cases.question) for group in groups if same(group.species, group.group)]


def _against_paper(figure: PublishedFigure, own: Own, level: float) -> Yardstick:
    species, estimate, cases, unknown, ours = own
    share = figure.share(level)
    theirs = (share.low, share.high) if share else (figure.low, figure.high)
    # A printed range of times is no interval: such figures stand side by side without a verdict.
    judged = None
    if estimate and share:
        # Papers count dogs or operations, we count first reconstructions: the table prints both.
        judged = _judged(newcombe_difference(estimate, replace(share, unit=estimate.unit)), cases, (0.0, 0.0))
    return Yardstick(
        "published", figure.source, species, figure.quantity, theirs, share.value if share else figure.value,
        figure.denominator, f"{figure.group}: {figure.definition}", ours, figure.differs, figure.read, estimate, cases,
        unknown, judged,
    )  # fmt: skip
