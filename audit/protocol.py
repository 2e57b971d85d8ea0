"""The audit protocol: what counts as take, healed and primary, settled and frozen before the results are seen."""

import hashlib
import json
import tomllib
from collections.abc import Mapping
from datetime import date
from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError, field_validator, model_validator

from audit.errors import ProtocolError

if TYPE_CHECKING:
    from pydantic_core import ErrorDetails

Percent = Annotated[float, Field(ge=0, le=100)]
LONGEST = 3650
Day = Annotated[int, Field(ge=0, le=LONGEST)]
Month = Annotated[str, Field(pattern=r"^\d{4}-(0[1-9]|1[0-2])$")]
Quantity = Literal["healed_by", "take", "sutures_out", "bandage_gap_early", "bandage_changes", "first_change"]
SHARES = ("healed_by", "take", "sutures_out")
"""Quantities of a rule of thumb that are shares from 0 to 1; the others count days or changes."""

_DROPPED = (("protocol", "contaminated_bed"), ("hair", "consensus"))
"""Terms that older protocols have and that decided nothing."""


class _Section(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class About(_Section):
    """What the audit is and whom it may speak of."""

    name: str
    version: int
    purpose: Literal["audit", "service_evaluation", "case_series", "cohort", "teaching"]
    series: Literal["cohort", "outcome_selected"]
    question: str
    criterion: str
    target_pct: Percent | Literal["none"]
    target_source: Literal["own_baseline", "published", "consensus", "rule_of_thumb"]
    case_finding: Literal["prospective_log", "theatre_list", "record_search", "billing_search", "recall"]
    eligible: tuple[str, ...]
    not_eligible: tuple[str, ...]
    ethics: Literal["approved", "exempt_by_committee", "not_required_audit", "pending"]
    ethics_reference: str

    @property
    def target(self) -> float | None:
        """The target as a share of one; None where none was set."""
        return None if self.target_pct == "none" else self.target_pct / 100


class Period(_Section):
    """Months of surgery that count, and the last day of watching."""

    start: Month
    end: Month
    data_lock: date

    @model_validator(mode="after")
    def _in_order(self) -> "Period":
        if not self.start <= self.end <= self.data_lock.isoformat()[:7]:
            raise ValueError("the months must run start, end, data_lock")
        return self


class Analysis(_Section):
    """The unit, the primary outcome and the smallest numbers that may be summarised."""

    unit: Literal["first_per_animal", "every_reconstruction"]
    first_operation: Literal["over_all", "in_period"]
    primary_outcome: Literal["take", "healed"]
    level: Annotated[float, Field(gt=0.5, lt=1)]
    seed: Annotated[int, Field(ge=0)]
    smallest_percentage: Annotated[int, Field(ge=1)]
    smallest_curve: Annotated[int, Field(ge=2)]
    smallest_photographs: Annotated[int, Field(ge=2)]


class Take(_Section):
    """The day, window and threshold of take."""

    day: Day
    from_day: Day
    to_day: Day
    threshold_pct: Percent
    also_pct: tuple[Percent, ...]

    @model_validator(mode="after")
    def _in_order(self) -> "Take":
        if not self.from_day <= self.day <= self.to_day:
            raise ValueError("the days must run from_day, day, to_day")
        return self


class Healing(_Section):
    """The days asked about, how far the curve runs, and which question is asked."""

    days: tuple[Day, ...] = Field(min_length=1)
    horizon: Annotated[int, Field(ge=1, le=LONGEST)]
    confirm_after: Day
    question: Literal["graft", "wound", "animal"]


class Complications(_Section):
    """The day by which complications are counted."""

    by_day: Day


class Hair(_Section):
    """When hair and looks are judged, and the hair grade from which on hair counts as good."""

    from_day: Day
    to_day: Day
    good_grade: Annotated[int, Field(ge=0, le=4)]


class Donor(_Section):
    """The days between which donor sutures are expected out."""

    sutures_from: Day
    sutures_to: Day


class Bandage(_Section):
    """The practice's own schedule: up to each day of `phases`, the longest planned days between changes."""

    phases: tuple[Day, ...]
    longest_gap: tuple[Day, ...]

    @model_validator(mode="after")
    def _same_length(self) -> "Bandage":
        if len(self.phases) != len(self.longest_gap):
            raise ValueError("phases and longest_gap need as many days each")
        return self


class RuleOfThumb(_Section):
    """A rule of thumb as a range for one quantity: common practice, no source."""

    name: str
    quantity: Quantity
    day: Day
    low: float
    high: float
    margin: float
    says: str

    @field_validator("low", "high", "margin")
    @classmethod
    def _is_plausible(cls, value: float) -> float:
        if not 0 <= value <= LONGEST:
            raise ValueError(f"give a share from 0 to 1, or a number of days or changes from 0 to {LONGEST}")
        return value

    @model_validator(mode="after")
    def _is_a_range(self) -> "RuleOfThumb":
        if self.low > self.high:
            raise ValueError(f"low = {self.low:g} is above high = {self.high:g}; give the lower end first")
        if self.quantity in SHARES and max(self.high, self.margin) > 1:
            raise ValueError(f"{self.quantity} is a share: low, high and margin lie from 0 to 1; write 80 % as 0.8")
        return self


class Frozen(_Section):
    """When the protocol was frozen, and the hash of all else in it."""

    on: date
    sha256: str


class Protocol(_Section):
    """A whole protocol; `frozen` is None until it was frozen."""

    protocol: About
    period: Period
    analysis: Analysis
    take: Take
    healing: Healing
    complications: Complications
    hair: Hair
    donor: Donor
    bandage: Bandage
    rule_of_thumb: tuple[RuleOfThumb, ...]
    frozen: Frozen | None = None

    @property
    def sha256(self) -> str:
        """Hash of the definitions: of everything but the freezing itself and the period that is asked about."""
        content = self.model_dump(mode="json", exclude={"frozen", "period"})
        return hashlib.sha256(json.dumps(content, sort_keys=True).encode()).hexdigest()


def default_text() -> str:
    """The protocol that ships with the project, as commented TOML."""
    return (files("audit") / "protocol.toml").read_text("utf-8")


def read_protocol(path: Path | None = None) -> Protocol:
    """
    The protocol of a TOML file, its gaps filled from the shipped one; the shipped one without a file.

    Raises ProtocolError naming every fault at once, or that a frozen protocol was changed after freezing.

    >>> read_protocol().take.threshold_pct
    75.0
    """
    own_terms = {} if path is None else _parse(path)
    faults = _take_out_dropped(own_terms)
    try:
        protocol = Protocol.model_validate(_filled(tomllib.loads(default_text()), own_terms))
    except ValidationError as error:
        faults += map(_fault, error.errors())
    if faults:
        raise ProtocolError(f"{path}: {'; '.join(faults)}. Mend the protocol and try again")
    if protocol.frozen and protocol.frozen.sha256 != protocol.sha256:
        raise ProtocolError(
            f"{path} was changed after it was frozen on {protocol.frozen.on}; restore it, or remove the [frozen] part, "
            "raise the version and freeze it again"
        )
    return protocol


def freeze(path: Path, into: Path, on: date) -> Protocol:
    """
    Write a frozen copy of the protocol file, dated and hashed, and return it.

    Raises ProtocolError when it is frozen already, or when `into` exists.
    """
    protocol = read_protocol(path)
    if protocol.frozen:
        raise ProtocolError(
            f"{path} was frozen on {protocol.frozen.on} already; raise the version in a copy to change it"
        )
    if into.exists():
        raise ProtocolError(f"{into} exists; a frozen protocol is never written over, choose another name")
    stamp = f'\n[frozen]\non = {on.isoformat()}\nsha256 = "{protocol.sha256}"\n'
    into.write_text(path.read_text("utf-8").rstrip("\n") + "\n" + stamp, "utf-8")
    return read_protocol(into)


def _parse(path: Path) -> dict[str, Any]:
    try:
        return tomllib.loads(path.read_text("utf-8"))
    except FileNotFoundError:
        raise ProtocolError(f"no protocol at {path}; write one with: takehold template --protocol {path}") from None
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise ProtocolError(f"{path} is not TOML: {error}") from None


def _take_out_dropped(terms: dict[str, Any]) -> list[str]:
    """Remove the terms that are no longer asked for, and say of each why."""
    frozen = ", and so must the [frozen] part: raise the version and freeze it again" if "frozen" in terms else ""
    return [
        f"{part}.{name} is no longer a term of the protocol, as nothing read it; its line must go{frozen}"
        for part, name in _DROPPED
        if isinstance(terms.get(part), dict) and terms[part].pop(name, None) is not None
    ]


def _fault(error: "ErrorDetails") -> str:
    place, words = ".".join(map(str, error["loc"])), error["msg"].removeprefix("Value error, ")
    return f"{place}: {words}" if isinstance(error["input"], dict) else f"{place} = {error['input']!r}: {words}"


def _filled(base: Mapping[str, Any], given: Mapping[str, Any]) -> dict[str, Any]:
    merged = dict(base)
    for name, value in given.items():
        inner = base.get(name)
        merged[name] = _filled(inner, value) if isinstance(inner, dict) and isinstance(value, dict) else value
    return merged
