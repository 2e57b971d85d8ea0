"""All questions of the audit, asked of the cases of one store under one protocol."""

from dataclasses import dataclass
from datetime import date

from audit.analyses.agreement import ItemAgreement, MeasureAgreement, agreement, measured_agreement
from audit.analyses.bandages import BandageAnswer, bandages
from audit.analyses.case_mix import CaseMixAnswer, case_mix
from audit.analyses.complications import ComplicationAnswer, complications
from audit.analyses.donor import DonorAnswer, donor
from audit.analyses.factors import FactorAnswer, factors
from audit.analyses.flow import FlowAnswer, flow
from audit.analyses.healing import HealingAnswer, healing
from audit.analyses.own_values import Answers
from audit.analyses.planned_examinations import PlannedExaminations, planned_examinations
from audit.analyses.scores import ScoreAnswer, scores
from audit.analyses.take import TakeAnswer, take
from audit.analyses.wound_closure import WoundClosureAnswer, wound_closure
from audit.analyses.yardsticks import YardstickAnswer, yardsticks
from audit.cases import Cases
from audit.protocol import Period, Protocol


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Audit:
    """
    The answers, the protocol they stand under, the period asked about, and the loads they come from.

    `first_load` is None for an empty store; `fingerprints` has one a load, in order.
    """

    protocol: Protocol
    period: Period
    first_load: date | None
    fingerprints: tuple[str, ...]
    flow: FlowAnswer
    case_mix: CaseMixAnswer
    take: TakeAnswer
    healing: HealingAnswer
    scores: ScoreAnswer
    complications: ComplicationAnswer
    donor: DonorAnswer
    bandages: BandageAnswer
    wound_closure: WoundClosureAnswer
    agreement: tuple[ItemAgreement, ...]
    measured_agreement: tuple[MeasureAgreement, ...]
    factors: FactorAnswer
    yardsticks: YardstickAnswer
    planned_examinations: tuple[PlannedExaminations, ...]

    @property
    def is_cohort(self) -> bool:
        """False where cases were chosen for how they ended: then no share of them is a risk."""
        return self.protocol.protocol.series == "cohort"

    @property
    def frozen_first(self) -> bool:
        """True where the protocol was frozen on an earlier day than, or the same day as, the first load."""
        frozen = self.protocol.frozen
        return frozen is not None and (self.first_load is None or frozen.on <= self.first_load)


def run_audit(cases: Cases) -> Audit:
    """Every answer, from the rows of one view. Same rows and protocol, same answers."""
    protocol, loads = cases.protocol, cases.loads
    took, healed = take(cases), healing(cases)
    harmed, donors, changed = complications(cases), donor(cases), bandages(cases)
    return Audit(
        protocol=protocol,
        period=cases.period,
        first_load=None if loads.empty else loads["loaded_on"].min().date(),
        fingerprints=tuple(loads["fingerprint"]),
        flow=flow(cases),
        case_mix=case_mix(cases),
        take=took,
        healing=healed,
        scores=scores(cases),
        complications=harmed,
        donor=donors,
        bandages=changed,
        wound_closure=wound_closure(cases),
        agreement=agreement(cases),
        measured_agreement=measured_agreement(cases),
        factors=factors(cases),
        yardsticks=yardsticks(Answers(took, healed, harmed, donors, changed, protocol.analysis.level), protocol),
        planned_examinations=planned_examinations(cases, healed),
    )
