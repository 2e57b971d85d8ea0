"""Rules of thumb and published figures beside the practice's own, with definitions side by side; often: cannot tell."""

from dataclasses import dataclass, replace

from audit.analyses.own_values import BANDAGE_WORDS, Answers, OwnValue, counterparts, own_values
from audit.analyses.published import PublishedFigure, published_figures
from audit.protocol import Protocol, RuleOfThumb
from audit.results import Estimate, Members, Span
from audit.stats.proportions import newcombe_difference
from audit.stats.verdict import DAY_WORDS, SHARE_WORDS, Verdict, verdict

FEWEST_FOR_A_VERDICT = 5


@dataclass(frozen=True, slots=True, kw_only=True)
class Yardstick:
    """
    One outside figure beside our own.

    `kind` is rule_of_thumb or published. `theirs` is a range (a rule of thumb, a printed range) or an interval computed
    here from printed counts; `own` is None where no case of ours bears on it. `verdict` is None, and `refused` says
    why, where a verdict would rest on fewer than five cases, on a share of which more cases cannot be told than are
    known, on another threshold of take than theirs, or on a printed range of times, which is no interval. `read` tells
    how far a paper was read. `by_their_median` is our share healed by the day by which half of theirs had. `margin` is
    how far a rule of thumb may be missed.
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
    cases: Members
    unknown: Members
    verdict: Verdict | None
    by_their_median: Estimate | None = None
    refused: str = ""
    margin: float = 0.0


@dataclass(frozen=True, slots=True)
class YardstickAnswer:
    """The protocol's own target, if it has one, its rules of thumb in its order, and the published figures."""

    target: tuple[Yardstick, ...]
    rules: tuple[Yardstick, ...]
    published: tuple[Yardstick, ...]


def yardsticks(answers: Answers, protocol: Protocol) -> YardstickAnswer:
    """Hold our own figures, species by species, against every yardstick that has a counterpart here."""
    primary = "take" if protocol.analysis.primary_outcome == "take" else "healed_by"
    target = protocol.protocol.target
    return YardstickAnswer(
        ()
        if target is None
        else tuple(
            _against_target(own, primary, target, protocol)
            for own in own_values(primary, protocol.healing.days[0], answers)
        ),
        tuple(
            _against_rule(rule, own)
            for rule in protocol.rule_of_thumb
            for own in own_values(rule.quantity, rule.day, answers)
        ),
        tuple(
            _against_paper(figure, own, protocol)
            for figure in published_figures()
            for own in counterparts(figure, answers)
        ),
    )


def _against_target(own: OwnValue, quantity: str, target: float, protocol: Protocol) -> Yardstick:
    about = protocol.protocol
    differs = f"source of the target: {about.target_source.replace('_', ' ')}"
    judged, refused = _judged(own, own.estimate, (target, 1.0))
    return Yardstick(
        kind="target",
        name="The target of this audit",
        species=own.species,
        quantity=quantity,
        theirs=(target, 1.0),
        theirs_point=target,
        theirs_n=None,
        their_definition=about.criterion,
        our_definition=own.definition,
        differs=differs,
        read="no source",
        own=own.estimate,
        cases=own.cases,
        unknown=own.unknown,
        verdict=judged,
        refused=refused,
    )


def _against_rule(rule: RuleOfThumb, own: OwnValue) -> Yardstick:
    words = DAY_WORDS if rule.quantity in BANDAGE_WORDS and rule.quantity != "bandage_changes" else SHARE_WORDS
    judged, refused = _judged(
        own, own.estimate, (rule.low, rule.high), rule.margin, words, is_share=rule.quantity not in BANDAGE_WORDS
    )
    return Yardstick(
        kind="rule_of_thumb",
        name=rule.name,
        species=own.species,
        quantity=rule.quantity,
        theirs=(rule.low, rule.high),
        theirs_point=None,
        theirs_n=None,
        their_definition=rule.says,
        our_definition=own.definition,
        differs="common practice, no source",
        read="no source",
        own=own.estimate,
        cases=own.cases,
        unknown=own.unknown,
        verdict=judged,
        refused=refused,
        margin=rule.margin,
    )


def _against_paper(figure: PublishedFigure, own: OwnValue, protocol: Protocol) -> Yardstick:
    share, judged, refused = figure.share(protocol.analysis.level), None, ""
    theirs = (share.low, share.high) if share else (figure.low, figure.high)
    if share is None:
        refused = "range of times"
    elif figure.threshold_pct not in (None, protocol.take.threshold_pct):
        refused = f"theirs is of {figure.threshold_pct:g} %, ours of {protocol.take.threshold_pct:g} %"
    elif own.estimate:
        # Papers count dogs or operations, we count first reconstructions: the table prints both.
        difference = newcombe_difference(own.estimate, replace(share, unit=own.estimate.unit))
        judged, refused = _judged(own, difference, (0.0, 0.0))
    return Yardstick(
        kind="published",
        name=figure.source,
        species=own.species,
        quantity=figure.quantity,
        theirs=theirs,
        theirs_point=share.value if share else figure.value,
        theirs_n=figure.denominator,
        their_definition=f"{figure.group}: {figure.definition}",
        our_definition=own.definition,
        differs=figure.differs,
        read=figure.read,
        own=own.estimate,
        cases=own.cases,
        unknown=own.unknown,
        verdict=judged,
        by_their_median=own.by_their_median,
        refused=refused,
    )


def _judged(
    own: OwnValue,
    estimate: Estimate | None,
    theirs: Span,
    margin: float = 0.0,
    words: tuple[str, str] = SHARE_WORDS,
    *,
    is_share: bool = True,
) -> tuple[Verdict | None, str]:
    """The verdict; or none, and why: so few cases that a single one would turn it, or so many that cannot be told."""
    if estimate is None:
        return None, ""
    if is_share and len(own.unknown) > len(own.cases):
        return None, "more cases cannot be told than are known"
    if len(own.cases) < FEWEST_FOR_A_VERDICT:
        return None, "too few cases"
    return verdict(estimate, theirs, margin, words=words), ""
