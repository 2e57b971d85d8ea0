"""The whole paper, in the order of submission: text, references, figures, tables, appendices."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Literal, TypeVar

from audit.analyses.healing import HealingAnswer
from reports.catalogue import Catalogue
from reports.document import Figure, Table
from reports.figures.cases import cases_figure
from reports.prose import Block, Cite, Heading, Manuscript, PageBreak, Paragraph, Reference, See
from reports.references import references
from reports.write_up import back, front
from reports.write_up.case_table import numbered
from reports.write_up.evidence import Evidence
from reports.write_up.methods import methods
from reports.write_up.reporting_guide import guide_table
from reports.write_up.respelled import respelled
from reports.write_up.results.cases import case_results
from reports.write_up.results.complications import complication_results
from reports.write_up.results.donor_and_bandages import donor_and_bandage_results
from reports.write_up.results.factors import factor_results
from reports.write_up.results.healing import healing_results
from reports.write_up.results.scores import score_results
from reports.write_up.results.take import take_results
from reports.write_up.tables import tables

Part = TypeVar("Part", Table, Figure)

FIGURES = (
    "flow",
    "take-by-location",
    "healing-curve",
    "healing-ends",
    "scores-hair",
    "complication-shares",
    "bandage-mean",
)
WITHOUT_RISKS = ("flow", "take-every-graft")
GUIDES = ("strobe-vet", "sampl")
FOUND_IN = {
    "title": "the title page", "abstract": "Abstract", "introduction": "Introduction", "objectives": "Introduction",
    "design": "Methods, Design and cases", "setting": "Methods, Design and cases",
    "participants": "Methods, Design and cases", "outcomes": "Methods, Outcomes", "measurement": "Methods, Data",
    "bias": "Discussion, Limitations", "size": "Methods, Design and cases", "statistics": "Methods, Statistical methods",
    "interpretation": "Discussion, Meaning", "limitations": "Discussion, Limitations", "funding": "Statements",
    "ethics": "Methods, Design and cases", "follow_up": "Results, Animals and operations",
    "key_results": "Discussion",
}  # fmt: skip
COMPARED_IN = dict.fromkeys(("comparisons", "tests"), "Results, What goes with healing and take")
SHOWN_IN = {
    "flow": "flow", "baseline": "characteristics", "take": "take", "healing": "healing", "complications": "complications",
    "scores": "score-hair", "agreement": "score-agreement", "factors": "factor-ratios", "donor": "donor-bandage",
    "bandages": "donor-bandage",
}  # fmt: skip


def manuscript(evidence: Evidence, spelling: Literal["british", "american"] = "british") -> Manuscript:
    """
    The manuscript in the wanted spelling, every number of it marked with its source.

    Where the protocol says that cases were chosen for how they ended, no share, interval or curve of outcomes is in it.
    """
    names = {line.case_code: name for name, line in numbered(evidence.lines)}
    catalogue = Catalogue(evidence.audit)
    listed, drawn = tables(evidence, catalogue), figures(evidence, catalogue, names)
    shown = {table.id for table in listed} | {figure.id for figure in drawn}
    body: tuple[Block, ...] = (
        *front.title_page(evidence),
        *front.abstract(evidence),
        *front.introduction(evidence),
        *methods(evidence),
        Heading("Results"),
        *case_results(evidence, shown),
        *take_results(evidence, shown),
        *healing_results(evidence, shown),
        *complication_results(evidence, shown),
        *donor_and_bandage_results(evidence, shown),
        *score_results(evidence, shown),
        *factor_results(evidence, shown),
        *back.discussion(evidence, shown),
        *back.statements(),
    )
    cited = _cited(body)
    listed, drawn = _by_first_mention(listed, body), _by_first_mention(drawn, body)
    guide = guide_table(places(evidence, listed, drawn), evidence.protocol, evidence.audit)
    blocks: tuple[Block, ...] = (
        *body,
        *back.reference_list(cited),
        *_apart("Figures", drawn),
        *_apart("Tables", listed),
        *back.appendices(evidence, guide, catalogue),
    )
    paper = Manuscript("Outcome of skin grafts and flaps in dogs and cats", blocks, cited, spelling)
    return respelled(paper) if spelling == "american" else paper


def figures(evidence: Evidence, catalogue: Catalogue, names: Mapping[str, str]) -> tuple[Figure, ...]:
    """
    The figures of the audit that a paper of this length shows, in its order.

    `names` has the name in the paper ("Dog 7") for each case code: no code is printed.
    """
    if evidence.risks:
        return catalogue.figures(*FIGURES)
    by_case = cases_figure(_by_name(evidence.audit.healing, names))
    return (*catalogue.figures(*WITHOUT_RISKS), *([by_case] if by_case else []))


def _by_name(answer: HealingAnswer, names: Mapping[str, str]) -> HealingAnswer:
    lines, seen = (frame.assign(case_code=frame["case_code"].map(names)) for frame in (answer.lines, answer.seen))
    return replace(answer, lines=lines, seen=seen)


def places(evidence: Evidence, listed: tuple[Table, ...], drawn: tuple[Figure, ...]) -> dict[str, str]:
    """Where the manuscript answers what, in words."""
    labels = {table.id: f"Table {n}" for n, table in enumerate(listed, start=1)}
    labels |= {figure.id: f"Figure {n}" for n, figure in enumerate(drawn, start=1)}
    compared = COMPARED_IN if evidence.risks else {}
    return FOUND_IN | compared | {key: labels[name] for key, name in SHOWN_IN.items() if name in labels}


def _apart(head: str, parts: Sequence[Block]) -> list[Block]:
    """A heading and each part on a page of its own; nothing without parts."""
    blocks = [block for part in parts for block in (PageBreak(), part)]
    return [PageBreak(), Heading(head), *blocks[1:]] if blocks else []


def _by_first_mention(parts: tuple[Part, ...], body: tuple[Block, ...]) -> tuple[Part, ...]:
    """Tables, or figures, in the order in which the text first points at them; those it does not, last."""
    seen = [p.target for block in body if isinstance(block, Paragraph) for p in block.parts if isinstance(p, See)]
    return tuple(sorted(parts, key=lambda part: seen.index(part.id) if part.id in seen else len(seen)))


def _cited(body: tuple[Block, ...]) -> tuple[Reference, ...]:
    keys = [
        part.key for block in body if isinstance(block, Paragraph) for part in block.parts if isinstance(part, Cite)
    ]
    return references(dict.fromkeys((*keys, *GUIDES)))
