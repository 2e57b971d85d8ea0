"""All that a manuscript is written from, and how its numbers may be given."""

import sys
from dataclasses import dataclass
from importlib.metadata import version

from audit.analyses.case_lines import CaseLine, case_lines
from audit.analyses.run import Audit, run_audit
from audit.cases import Cases
from audit.method_log import MethodUse, method_log
from audit.methods import known
from audit.protocol import Protocol

SOFTWARE = ("takehold", "numpy", "scipy", "pandas", "statsmodels", "duckdb")


@dataclass(frozen=True, slots=True, eq=False)
class Evidence:
    """The answers of the audit, its cases line by line, the methods that ran, and the software they ran on."""

    audit: Audit
    lines: tuple[CaseLine, ...]
    log: tuple[MethodUse, ...]
    software: tuple[tuple[str, str], ...]

    @property
    def protocol(self) -> Protocol:
        """What was settled beforehand."""
        return self.audit.protocol

    @property
    def risks(self) -> bool:
        """False where cases were chosen for how they ended: then no share of them is a risk, and none is given."""
        return self.audit.is_cohort

    @property
    def smallest(self) -> int:
        """Fewer cases than this print counts alone; without risks, any number does."""
        return self.protocol.analysis.smallest_percentage if self.risks else sys.maxsize

    def ran(self, *keys: str) -> bool:
        """Whether one of these methods of the catalogue gave a number; ValueError for a key that it has not."""
        return not {use.key for use in self.log}.isdisjoint(known(keys))


def evidence(cases: Cases) -> Evidence:
    """Ask everything of the cases that a manuscript tells."""
    audit = run_audit(cases)
    python = ".".join(map(str, sys.version_info[:3]))
    software = (("Python", python), *((name, version(name)) for name in SOFTWARE))
    return Evidence(audit, case_lines(cases), method_log(audit), software)
