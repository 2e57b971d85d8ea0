"""The section on the donor site."""

from audit.analyses.donor import DonorAnswer
from audit.protocol import Protocol
from reports import wording
from reports.document import Column, Ledger, Section, Table
from reports.figures.labels import SPECIES, label
from reports.sections.shares import share_ledger, share_table, unknown_sentence


def donor_sentences(answer: DonorAnswer, protocol: Protocol) -> tuple[str, ...]:
    """One sentence a species on sutures, and on complications of the donor site."""
    sentences = []
    for group in answer.sutures:
        smallest = protocol.analysis.smallest_percentage
        share = "none is known" if group.share is None else wording.share(group.share.estimate, smallest)
        hurt = len(dict(answer.with_complication).get(group.species, ()))
        total = int((answer.sites["species"] == group.species).sum())
        sentences.append(
            f"{SPECIES[group.species]}: donor sutures came out on day {answer.sutures_from} to {answer.sutures_to} in {share}; "
            f"{hurt} of {wording.count(total, 'donor site')} had a complication."
        )
    return tuple(sentences) or ("No donor site is on record.",)


def donor_section(answer: DonorAnswer, protocol: Protocol) -> Section:
    """Sutures within the expected days, donor healing, donor complications."""
    return Section(
        id="donor",
        title="The donor site",
        question="What becomes of the wound that the graft came from?",
        sentences=(*donor_sentences(answer, protocol), *unknown_sentence(answer.sutures)),
        ledgers=(
            *(share_ledger(group, "", "Donor sutures out in time", ("in time", "not in time")) for group in answer.sutures),
            Ledger("Donor sites with a complication", tuple((SPECIES[s], codes) for s, codes in answer.with_complication)),
        ),
        remarks=("What an operation costs the animal lies at the donor site too; it is always shown.",) if len(answer.sites) else (),
    )  # fmt: skip


def donor_suture_table(answer: DonorAnswer, smallest: int) -> Table:
    """A row a species: sites whose sutures were out within the expected days."""
    return share_table(
        "donor-suture-counts", f"Donor sutures out on day {answer.sutures_from} to {answer.sutures_to}", answer.sutures, "",
        smallest, notes=("Absorbable sutures are left out; there is nothing to take out.",),
    )  # fmt: skip


def donor_healed_table(answer: DonorAnswer) -> Table:
    """A row a species: the median day by which donor sites had healed."""
    return Table(
        "donor-healed",
        "Day by which half of the watched donor sites had healed",
        (Column("Species"), Column("Sites watched", align="right"), Column("Median day (interval)")),
        tuple((SPECIES[s], str(n), wording.time(e) if e else "not watched") for s, n, e in answer.healed),
    )


def donor_closure_table(answer: DonorAnswer) -> Table:
    """A row a closure and state of the sutures."""
    sites = answer.sites.fillna({"donor_closure": "not known", "suture_state": "not known"})
    counts = sites.groupby(["species", "donor_closure", "suture_state"]).size()
    return Table(
        "donor-closures",
        "How donor sites were closed, and what became of the sutures",
        (Column("Species"), Column("Closure"), Column("Sutures"), Column("Sites", align="right")),
        tuple(
            (SPECIES[species], label("donor_closure", closure), label("suture_state", state), str(n))
            for (species, closure, state), n in counts.items()
        ),
    )
