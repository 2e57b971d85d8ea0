"""The last sections: the protocol as it stood, definitions, scales, and the methods with their sources."""

from audit.analyses.healing import HealingAnswer
from audit.methods import catalogue
from audit.protocol import Protocol
from reports import wording
from reports.document import Column, Section, Table
from reports.references import brief

TERMS = (
    ("Day 0", "The day of the operation. By day k means on or before day k."),
    ("Sure yes, sure no, cannot tell", "What the records settle, before any model. Cases that cannot be told are never dropped: the "
     "bounds show what they could change."),
    ("Healed", "Complete epithelialisation of the whole defect, seen by a professional or on a photograph. A telephone call moves nothing."),
    ("Healed between", "After the last day seen not epithelialised, up to the first day seen epithelialised."),
    ("Minor, major, catastrophic", "No treatment beyond a bandage; drugs, drainage, sedation or surgery; loss of the limb or related death."),
)  # fmt: skip

SCALES = (
    ("Hair cover", "0", "no hair inside the outline"),
    ("Hair cover", "1", "lone hairs; skin seen everywhere"),
    ("Hair cover", "2", "hair hides skin over less than half"),
    ("Hair cover", "3", "hair hides skin over half or more; outline still to be traced"),
    ("Hair cover", "4", "outline not to be traced from one metre without parting the coat"),
    ("Look: edge", "0 to 3", "not to be found; found on close look; seen at arm's length; seen across a room"),
    ("Look: level", "0 to 3", "flush; slight step felt; step seen; ridge or hollow that casts a shadow"),
    ("Look: skin tone", "0 to 3", "as beside it; slightly off; clearly off; like a scar or shiny"),
    (
        "Look: pull",
        "0 to 3",
        "none; faint lines; skin or pad beside it displaced; joint, eyelid or lip held out of place",
    ),
    ("Look: surface", "0 to 3", "sound; dry or flaky; thickened or callused; cracks or bleeds"),
    ("Limb use", "3 to 0", "no difference at any pace; only after hard exercise or on the pad; lame at walk; not used"),
)

COUNTED = {
    "first_per_animal": "One operation. A re-graft is another one; the first of each animal is counted unless a table says otherwise.",
    "every_reconstruction": "One operation. A re-graft is another one; every one of an animal is counted, and intervals allow for "
    "reconstructions of one animal being alike.",
}


def definition_sections(protocol: Protocol) -> tuple[Section, ...]:
    """Definitions and methods, which are all in tables, and when the protocol was settled."""
    return (
        Section(id="definitions", title="Definitions and methods", question="What do the words and numbers mean?"),
        Section(
            id="protocol", title="The protocol", question="What was settled, and when?", sentences=(_frozen(protocol),)
        ),
    )


def term_table(protocol: Protocol) -> Table:
    """A row a word that this report uses in a sense of its own."""
    day_0, *others = TERMS
    rows = (day_0, ("Reconstruction", COUNTED[protocol.analysis.unit]), *others)
    return Table("terms", "Words", (Column("Word"), Column("Meaning")), rows)


def scale_table() -> Table:
    """A row a grade of each scale."""
    return Table(
        "scales", "Scales of our own, unvalidated", (Column("Scale"), Column("Grade"), Column("Words")), SCALES
    )


def method_table(protocol: Protocol, healing: HealingAnswer) -> Table:
    """A row a method with its source, and how near the healing curves came to their maximum."""
    rows = tuple((row.about, row.says, "; ".join(map(brief, row.sources))) for row in catalogue().report)
    gap = max((curve.incidence.kkt_gap for curve in healing.overall), default=0.0)
    return Table(
        "methods", "Methods and their sources", (Column("For"), Column("Method"), Column("Source")), rows,
        (f"Intervals at {wording.percent(protocol.analysis.level)}. Largest gap of a healing curve to its maximum: "
         f"{'below one in a million' if gap < 1e-6 else f'{gap:.1e}'} in log-likelihood.",),
    )  # fmt: skip


def _frozen(protocol: Protocol) -> str:
    if protocol.frozen is None:
        return "This protocol was not frozen: its definitions may have been chosen after the results were seen."
    return f"This protocol was frozen on {protocol.frozen.on}; its hash is {protocol.frozen.sha256}."


def protocol_table(protocol: Protocol) -> Table:
    """A row a term of the protocol, as it was settled."""
    content = protocol.model_dump(mode="json", exclude={"frozen", "rule_of_thumb"})
    rows = [
        (part.replace("_", " "), name.replace("_", " "), _plain(value))
        for part, values in content.items()
        for name, value in values.items()
    ]
    rows += [("rule of thumb", rule.name, rule.says) for rule in protocol.rule_of_thumb]
    return Table(
        "protocol-terms", "Every term of the protocol", (Column("Part"), Column("Term"), Column("Value")), tuple(rows)
    )


def _plain(value: object) -> str:
    if isinstance(value, list | tuple):
        return ", ".join(_plain(item) for item in value) or "none"
    return f"{value:g}" if isinstance(value, float) else str(value).replace("_", " ") or "none"
