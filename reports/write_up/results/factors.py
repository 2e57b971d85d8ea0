"""Results: what goes with healing, take and hair."""

from collections.abc import Collection

from reports.prose import Block, Heading, Inline, Paragraph
from reports.sections.factors import factor_sentences
from reports.write_up.evidence import Evidence
from reports.write_up.phrases import fact, prose, see


def factor_results(evidence: Evidence, shown: Collection[str]) -> tuple[Block, ...]:
    """What goes with healing, take and hair: models that the data could bear, and why others were refused."""
    if not evidence.risks:
        return ()
    parts: list[Inline] = []
    for n, sentence in enumerate(factor_sentences(evidence.audit.factors), start=1):
        parts += [" " if parts else "", fact(f"factors-{n}", sentence, "factors")]
    see_table = see(shown, "factor-ratios")
    if see_table and any(model.ratios for model in evidence.audit.factors.models):
        parts += prose(" Ratios with their intervals are given{see}.", see=see_table)
    return (Heading("What goes with healing and take (exploratory)", 2), Paragraph(tuple(p for p in parts if p)))
