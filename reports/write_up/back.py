"""Discussion, statements, references and appendices."""

from reports import wording
from reports.catalogue import Catalogue
from reports.document import Column, Table
from reports.prose import Ask, Block, Heading, PageBreak, Paragraph, Reference
from reports.write_up.evidence import Evidence
from reports.write_up.limitations.raised import limitations
from reports.write_up.phrases import prose, see

STATEMENTS = (
    ("Funding", "who paid, and what part they had in the work, or that nobody did"),
    ("Conflicts of interest", "each author's, or none"),
    ("Data", "who may see the de-identified data, and how; ask whoever answers for data protection first"),
    ("Authors", "who did what"),
    ("Thanks", "owners, nurses and colleagues who agreed to be named"),
)


def discussion(evidence: Evidence, shown: set[str]) -> tuple[Block, ...]:
    """Prompts: key results, other evidence, limitations that these data raise, and whom the results may speak of."""
    published = see(shown, "yardsticks-published")
    raised = [
        Paragraph((*limitation.raised_by, " ", Ask(limitation.asks)), "item")
        for limitation in limitations(evidence.audit)
    ]
    other = prose(
        "Published figures that the audit holds{see} come from other wounds, other animals and other definitions, and were read in "
        "abstracts. {ask}",
        see=published,
        ask=Ask("read each paper before you cite it; say where its definition differs from yours"),
    )
    return (
        Heading("Discussion"),
        Paragraph((Ask("the main results set against the question, with their intervals; “cannot tell” is an answer"),)),
        *((Paragraph(other),) if published else ()),
        Heading("Limitations", 2),
        Paragraph(("Raised by these data; write each into your own words, or say why it does not matter here:",)),
        *(raised or [Paragraph((Ask("nothing was raised by the data; say what a reader should still doubt"),))]),
        Heading("Meaning", 2),
        Paragraph((Ask("a cautious interpretation: several questions were asked, methods were chosen for the wound, and an "
                       "interval that leaves the direction open does not show that groups are alike"),)),
        Paragraph((Ask("whom the results may speak of, and whom not"),)),
    )  # fmt: skip


def statements() -> tuple[Block, ...]:
    """What only the authors can declare."""
    return (
        Heading("Statements"),
        *(Paragraph((f"{head}: ", Ask(asks))) for head, asks in STATEMENTS),
    )


def reference_list(references: tuple[Reference, ...]) -> tuple[Block, ...]:
    """The methods' sources, and a place for the author's own."""
    return (
        Heading("References"),
        Paragraph((Ask("check each of these against the print: they were written down without it"),)),
        *(Paragraph((reference.full,), "reference") for reference in references),
        Paragraph((Ask("your own references, among these in the journal's order and style"),)),
    )


def appendices(evidence: Evidence, guide: Table, catalogue: Catalogue) -> tuple[Block, ...]:
    """The protocol, every method that ran, and where the reporting guides' questions are answered."""
    ran = (PageBreak(), Heading("Appendix: every method that gave a number"), method_table(evidence))
    return (
        PageBreak(), Heading("Appendix: the protocol"), *catalogue.tables("protocol-terms"),
        *(ran if evidence.risks else ()),
        PageBreak(), Heading("Appendix: where the reporting guides’ questions are answered"), guide,
    )  # fmt: skip


def method_table(evidence: Evidence) -> Table:
    """The log of what ran: each method, the level of its intervals, and the quantities it gave."""
    rows = tuple(
        (use.method, wording.percent(use.level) if use.level else "–", str(use.times), _named(use.quantities))
        for use in evidence.log
    )
    heads = (Column("Method"), Column("Level"), Column("Results", align="right"), Column("For"))
    return Table(
        "methods-log", "What ran", heads, rows, ("Counted over the whole audit, more than this paper prints.",)
    )


MOST_NAMED = 6


def _named(quantities: tuple[str, ...]) -> str:
    words = [name.replace("_", " ") for name in quantities]
    words = [
        " ".join("".join(f" {c.lower()}" if c.isupper() else c for c in w).split()) if w.isalnum() else w for w in words
    ]
    more = len(words) - MOST_NAMED
    return "; ".join(words[:MOST_NAMED]) + (f"; and {more} more" if more > 0 else "")
