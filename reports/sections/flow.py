"""The section on which cases there are and how complete their records are."""

from audit.analyses.flow import FlowAnswer
from audit.dictionary import table as sheet
from audit.results import Estimate
from reports import wording
from reports.document import Column, Ledger, Section, Table
from reports.figures.labels import label


def flow_section(answer: FlowAnswer) -> Section:
    """Counts at each step with reasons, follow-up, and completeness."""
    first, last = answer.stages[0], answer.stages[-1]
    species = wording.join([wording.count(animals, name) for name, _, animals in answer.species])
    sentences = [
        f"Of {wording.count(len(first.cases), 'operation')} in the store, {len(last.cases)} are asked about here, in "
        f"{species}, operated on {_months(answer)}."
        if last.cases
        else f"Of {wording.count(len(first.cases), 'operation')} in the store none is left to ask about."
    ]
    if answer.follow_up and answer.follow_up.value is not None:
        sentences.append(f"Half of the cases were followed to {follow_up_words(answer.follow_up)} or longer.")
    if answer.never_seen:
        sentences.append(
            f"{wording.count(len(answer.never_seen), 'case')} {'was' if len(answer.never_seen) == 1 else 'were'} never seen "
            "after surgery."
        )
    present, due = answer.core_complete
    every, every_due = answer.all_complete
    if due:
        sentences.append(
            f"{wording.percent(present / due)} of the values that the audit needs most and {wording.percent(every / every_due)} "
            "of all values due are on record."
        )
    left_out = tuple((reason, codes) for stage in answer.stages for reason, codes in stage.left_out)
    return Section(
        id="cases",
        title="Cases and records",
        question="Which operations does this audit speak of, and how complete are their records?",
        sentences=tuple(sentences),
        ledgers=(
            Ledger("Operations left out", left_out),
            Ledger("How the records end", tuple((label("exit_reason", r), codes) for r, codes in answer.exits)),
            Ledger(
                "Operations asked about", (("asked about", last.cases), ("never seen after surgery", answer.never_seen))
            ),
        ),
        remarks=(
            "Follow-up is the reverse Kaplan-Meier median: how long cases would have been watched had none died.",
        ),
    )


def follow_up_words(estimate: Estimate) -> str:
    """The median day of follow-up with its interval; the day alone where all were followed alike, or too few."""
    if estimate.low is None and estimate.high is None:
        return wording.day_range(estimate.value, estimate.value_to)
    return wording.time(estimate)


def _months(answer: FlowAnswer) -> str:
    first, last = answer.first_month, answer.last_month
    return f"in {first}" if first == last else f"from {first} to {last}"


def record_ends_table(answer: FlowAnswer) -> Table:
    """Cases by their last status."""
    total = sum(len(codes) for _, codes in answer.exits)
    return Table(
        "record-ends",
        "How the records end",
        (Column("Last status"), Column("Cases", align="right"), Column("Of", align="right")),
        tuple((label("exit_reason", reason), str(len(codes)), str(total)) for reason, codes in answer.exits),
    )


def completeness_table(answer: FlowAnswer) -> Table:
    """Cells due and present by sheet, core columns apart, and why the others are not there."""
    counts = ["present", "blank", "not_recorded", "not_assessable", "refused"]
    rows = []
    fields = answer.completeness.sort_values(["table_name", "is_core"], ascending=[True, False], kind="stable")
    for (name, core), cells_due in fields.groupby(["table_name", "is_core"], sort=False):
        total = cells_due[["due", *counts, "not_applicable"]].sum()
        share = wording.percent(total["present"] / total["due"]) if total["due"] else "none due"
        cells = [sheet(str(name)).title, "core" if core else "other", f"{total['due']:,}"]
        rows.append((*cells, *(f"{total[c]:,}" for c in counts), f"{total['not_applicable']:,}", share))
    heads = ("Due", "Present", "Blank", "Not recorded", "Not assessable", "Refused", "Does not apply")
    return Table(
        "completeness-counts",
        "Completeness of the records, by sheet",
        (
            Column("Sheet"),
            Column("Columns"),
            *(Column(h, align="right") for h in heads),
            Column("Complete", align="right"),
        ),
        tuple(rows),
        (
            "Due: cells of loaded rows, less those that do not apply. Blank, not recorded, not assessable and refused are different facts.",
        ),
    )
