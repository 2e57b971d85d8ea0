"""The section on complications."""

from audit.analyses.complications import ComplicationAnswer
from audit.analyses.groups import GroupShare
from audit.protocol import Protocol
from reports import wording
from reports.document import Column, Ledger, Section, Table
from reports.figures.labels import SPECIES, label, species_order
from reports.sections.shares import share_ledger, share_table, unknown_sentence

QUESTIONS = {
    "any": "any complication",
    "other_than_graft_loss": "a complication other than graft loss",
    "major_or_worse": "a major complication or worse",
    "catastrophic": "a catastrophic complication",
    "infection_recipient": "infection at the graft",
    "infection_donor": "infection at the donor site",
    "re_operated": "grafted again or changed to another method",
    "limb_lost_or_related_death": "limb lost for the wound, or related death",
}


def complication_sentences(answer: ComplicationAnswer, protocol: Protocol) -> tuple[str, ...]:
    """One sentence a species: any, and major or worse, by the protocol's day."""
    by_question = dict(answer.overall)
    return tuple(
        _sentence(
            group,
            next((g for g in by_question["major_or_worse"] if g.species == group.species), None),
            answer.by_day,
            protocol,
        )
        for group in by_question["any"]
    )


def _sentence(group: GroupShare, worse: GroupShare | None, by_day: int, protocol: Protocol) -> str:
    species, smallest = SPECIES[group.species], protocol.analysis.smallest_percentage
    if group.share is None:
        return f"{species}: none of {wording.count(group.cases.asked, 'case')} was watched to day {by_day}, so complications cannot be told."
    major = "" if worse is None or worse.share is None else f", and {_worse(group, worse, smallest)}"
    unknown = len(group.cases.cannot_tell)
    short = f"; {unknown} {'was' if unknown == 1 else 'were'} not watched so long" if unknown else ""
    return f"{species}: by day {by_day}, {wording.share(group.share.estimate, smallest)} had a complication of any kind{major}{short}."


def _worse(group: GroupShare, worse: GroupShare, smallest: int) -> str:
    """The graver ones, and in how many more the grade is not known: those are never the cases without any."""
    assert worse.share is not None
    words = f"{wording.share(worse.share.estimate, smallest)} a major one or worse"
    more = len(worse.cases.cannot_tell) - len(group.cases.cannot_tell)
    if more <= 0:
        return words
    return f"{len(worse.cases.sure_yes)} surely a major one or worse (in {more} more the grade cannot be told)"


def complication_section(answer: ComplicationAnswer, protocol: Protocol) -> Section:
    """Cases with a complication by question, method and grade; each kind with its cases."""
    return Section(
        id="complications",
        title="Complications",
        question="What goes wrong, how badly, and in how many?",
        sentences=(*complication_sentences(answer, protocol), *unknown_sentence(dict(answer.overall)["any"])),
        ledgers=(
            *(
                share_ledger(group, "", QUESTIONS[question].capitalize(), ("with", "without"))
                for question, groups in answer.overall
                for group in groups
            ),
            Ledger("Grade set by hand, with a reason", (("other than the derived grade", answer.overridden),)),
        ),
        remarks=(
            "The grade follows the treatment that was needed: none or a bandage change is minor; drugs, drainage, debridement, "
            "a further operation or sedation is major; amputation or related death is catastrophic. Expected sequelae and "
            "disease that comes back are listed, not counted.",
            "Complications are counted by case, never added up: one case may have several. Passive records miss some, so a case "
            "counts as free of complications only if it was watched to that day.",
        ),
    )  # fmt: skip


def complication_table(answer: ComplicationAnswer, smallest: int) -> Table:
    """A row a question and species: cases with such a complication by the protocol's day."""
    rows = [(question, group) for question, groups in answer.overall for group in groups]
    table = share_table(
        "complication-counts", f"Cases with a complication by day {answer.by_day}", [g for _, g in rows], "", smallest,
        extra=(("What", [QUESTIONS[question] for question, _ in rows]),),
    )  # fmt: skip
    return _with_question_first(table)


def complications_by_method_table(answer: ComplicationAnswer, smallest: int) -> Table:
    """A row a method group within species: cases with any complication."""
    return share_table(
        "complications-by-method", f"Any complication by day {answer.by_day}, by method", answer.by_method,
        "method_group", smallest, notes=("Not a comparison of methods.",),
    )  # fmt: skip


def _with_question_first(table: Table) -> Table:
    """The same table with its last column, the question, in front."""
    columns = (table.columns[-1], *table.columns[:-1])
    rows = tuple((row[-1].capitalize(), *row[:-1]) for row in table.rows)
    return Table(table.id, table.title, columns, rows, table.notes)


def complication_list_table(answer: ComplicationAnswer) -> Table:
    """A row a kind and grade of complication: cases with it."""
    kinds = answer.kinds
    species = species_order(kinds["species"])
    rows = []
    for (group, name, grade), of_grade in kinds.groupby(
        ["complication_group", "complication", "grade"], dropna=False, sort=True
    ):
        counts = {row.species: row.cases for row in of_grade.itertuples(index=False)}
        known = grade if isinstance(grade, str) else "treatment not recorded"
        rows.append(
            (
                label("complication", name).capitalize(),
                label("", group),
                known,
                *(str(counts.get(s, 0)) for s in species),
            )
        )
    return Table(
        "complication-list",
        "Complications by kind and derived grade: cases with it, at any time",
        (
            Column("Complication"),
            Column("Kind"),
            Column("Grade"),
            *(Column(SPECIES[s], align="right") for s in species),
        ),
        tuple(rows),
        (
            f"{wording.count(answer.not_counted, 'entry')} not counted: expected sequelae, failures to cure, or disease that came back.",
        )
        if answer.not_counted
        else (),
    )
