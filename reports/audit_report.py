"""The audit report: every section in the order of reading, the page, and each figure and table as a file."""

from concurrent.futures import ProcessPoolExecutor
from contextlib import nullcontext
from dataclasses import replace
from importlib.metadata import version
from pathlib import Path

from audit.analyses.run import Audit, run_audit
from audit.cases import Cases
from reports.catalogue import Catalogue
from reports.cautions import CAUTIONS
from reports.document import Report, Section
from reports.drawing.draw import draw, start_helper
from reports.formats.csv_tables import write_csv
from reports.formats.to_html import to_html
from reports.formats.to_pdf import report_pdf
from reports.outcome_selected import counts_sections
from reports.sections.bandages import bandage_section
from reports.sections.case_mix import case_mix_section
from reports.sections.complications import complication_section, complication_sentences
from reports.sections.definitions import definition_sections
from reports.sections.donor import donor_section
from reports.sections.factors import factor_section
from reports.sections.flow import flow_section
from reports.sections.healing import healing_section, healing_sentences
from reports.sections.scores import score_section, score_sentences
from reports.sections.summaries import CHOSEN
from reports.sections.take import take_section, take_sentences
from reports.sections.wound_closure import wound_closure_section
from reports.sections.yardsticks import yardstick_section, yardstick_sentences
from reports.wording import count

INVENTED = "An invented practice: no animal, owner or result in it is real"
# Figures and tables of each section of the page.
SHOWN: dict[str, tuple[tuple[str, ...], tuple[str, ...]]] = {
    "cases": (("flow", "completeness"), ("record-ends", "completeness-counts")),
    "case-mix": (("support",), ("characteristics",)),
    "take": (
        ("take-every-graft", "take-by-location", "take-by-method"),
        (
            "take-location-counts", "take-method-counts", "take-species", "take-thresholds", "take-percent",
            "take-all-operations",
        ),
    ),
    "healing": (
        ("healing-curve", "healing-by-method", "healing-ends", "healing-cases"),
        ("healed-by-day", "median-days", "ends-by-horizon", "healing-planned"),
    ),
    "open-area-course": (("open-area",), ("edge-advance",)),
    "scores": (
        ("scores-hair", "scores-look", "scores-use", "scores-pairs"),
        (
            "score-hair", "score-good-hair", "score-medians", "score-superiority", "score-alike", "owner-marks",
            "owner-differences", "score-agreement", "measure-agreement",
        ),
    ),
    "complications": (
        ("complication-shares", "complication-kinds"),
        ("complication-counts", "complications-by-method", "complication-list"),
    ),
    "donor": (("donor-sutures",), ("donor-suture-counts", "donor-healed", "donor-closures")),
    "bandages": (("bandage-mean", "bandage-rates"), ("bandage-phases", "bandage-waits")),
    "yardsticks": (
        ("yardstick-shares", "yardstick-days", "yardstick-changes"),
        ("yardsticks-target", "yardsticks-rules", "yardsticks-published"),
    ),
    "what-goes-with": (("factors",), ("factor-ratios", "take-standardised")),
    "seen": (
        ("take-every-graft", "healing-cases"),
        ("take", "healing", "complications", "complication-list", "donor-bandage", "score-hair"),
    ),
    "definitions": ((), ("terms", "scales", "methods")),
    "protocol": ((), ("protocol-terms",)),
}  # fmt: skip


def audit_report(audit: Audit, *, invented: bool = False) -> Report:
    """The document, before it has a format."""
    protocol = audit.protocol
    last = audit.fingerprints[-1][:16] if audit.fingerprints else "none"
    words, headlines = (_sections(audit), _headlines(audit)) if audit.is_cohort else (counts_sections(audit), (CHOSEN,))
    catalogue = Catalogue(audit)
    sections = tuple(_with_shown(section, catalogue) for section in words)
    return Report(
        title=protocol.protocol.name,
        subtitle=INVENTED if invented else protocol.protocol.question,
        cautions=CAUTIONS,
        headlines=(sections[0].sentences[0], *headlines, f"The protocol was {frozen_words(audit)}."),
        sections=sections,
        definitions=tuple(_with_shown(section, catalogue) for section in definition_sections(protocol)),
        provenance=(
            ("Period", f"operations of {' to '.join(dict.fromkeys((audit.period.start, audit.period.end)))}"),
            ("Cases were found by", protocol.protocol.case_finding.replace("_", " ")),
            ("Protocol", frozen_words(audit)),
            ("Unit", protocol.analysis.unit.replace("_", " ")),
            ("Data", f"{count(len(audit.fingerprints), 'load')}; fingerprint of the last {last}"),
            ("Made with", f"Takehold {version('takehold')}, seed {protocol.analysis.seed}"),
        ),
    )


def _with_shown(section: Section, catalogue: Catalogue) -> Section:
    figures, tables = SHOWN[section.id]
    return replace(section, figures=catalogue.figures(*figures), tables=catalogue.tables(*tables))


def _headlines(audit: Audit) -> tuple[str, ...]:
    return (
        *take_sentences(audit.take, audit.protocol),
        *healing_sentences(audit.healing, audit.protocol.analysis.smallest_percentage),
        *complication_sentences(audit.complications, audit.protocol),
        *score_sentences(audit.scores),
        *yardstick_sentences(audit.yardsticks, "healed_by", "take"),
    )


def _sections(audit: Audit) -> tuple[Section, ...]:
    protocol = audit.protocol
    return (
        flow_section(audit.flow),
        case_mix_section(audit.case_mix),
        take_section(audit.take, protocol),
        healing_section(audit.healing, protocol, audit.planned_examinations),
        wound_closure_section(audit.wound_closure),
        score_section(audit.scores),
        complication_section(audit.complications, protocol),
        donor_section(audit.donor, protocol),
        bandage_section(audit.bandages),
        yardstick_section(audit.yardsticks),
        factor_section(audit.factors),
    )


def frozen_words(audit: Audit) -> str:
    """Whether the protocol was settled before the cases were loaded."""
    frozen = audit.protocol.frozen
    if frozen is None:
        return "not frozen: its definitions may have been chosen after the results were seen"
    when = "on or before the day" if audit.frozen_first else "only after the day"
    return f"frozen on {frozen.on} (version {audit.protocol.protocol.version}), {when} the first cases were loaded"


def write_report(
    cases: Cases, into: Path, *, invented: bool = False, helper: ProcessPoolExecutor | None = None
) -> Path:
    """
    Write report.html, report.pdf, figures/ and tables/ into the folder and return the page.

    Same rows and protocol: same bytes. Half of the figures are drawn by the helper, or by one of its own.
    """
    figures, tables = into / "figures", into / "tables"
    for folder in (figures, tables):
        folder.mkdir(parents=True, exist_ok=True)
    with nullcontext(helper) if helper else start_helper() as drawer:
        report = audit_report(run_audit(cases), invented=invented)
        drawn = draw(report.figures, figures, drawer)
    for table in report.tables:
        write_csv(table, tables)
    page = into / "report.html"
    page.write_text(to_html(report, drawn), "utf-8", newline="\n")
    (into / "report.pdf").write_bytes(report_pdf(report, drawn))
    return page
