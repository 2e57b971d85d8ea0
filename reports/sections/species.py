"""Dogs and cats side by side: one sentence and one row, with what they do not tell."""

from audit.analyses.species import SpeciesDifference
from reports import wording
from reports.document import Column, Table
from reports.sections.shares import known_share

CAUTION = "wounds and methods differ between the species, so this does not tell that the species is the cause"


def species_sentences(found: SpeciesDifference | None) -> tuple[str, ...]:
    """Whether cats take better than dogs here, as far as can be told; nothing where there is one species only."""
    if found is None:
        return ()
    if found.difference is None:
        known = f"{found.cats.cases.known} and {found.dogs.cases.known}"
        return (f"Cats and dogs are not set side by side: {found.refused}, and have {known}.",)
    low, high = found.difference.low, found.difference.high
    assert low is not None
    assert high is not None
    told = "higher in cats" if low > 0 else "higher in dogs" if high < 0 else "cannot tell which is higher"
    p = "" if found.p is None else f"; {wording.p_value(found.p)}"
    return (
        f"Cats beside dogs: the share in cats less that in dogs is {wording.points(found.difference)}{p}. Read: {told}. "
        f"{CAUTION.capitalize()}.",
    )


def species_table(found: SpeciesDifference | None, smallest: int) -> Table | None:
    """Both shares, their difference with its interval, and the p-value; none where the two are not set side by side."""
    if found is None or found.difference is None:
        return None
    p = "not given: too few" if found.p is None else f"{wording.p_value(found.p)}, {found.p_method}"
    return Table(
        "take-species",
        "Take in cats beside dogs",
        (
            Column("What"), Column("Cats"), Column("Dogs"), Column("Cats less dogs (interval)"),
            Column("Could chance alone do it?"),
        ),
        (
            (found.dogs.cases.question, known_share(found.cats, smallest), known_share(found.dogs, smallest),
             wording.points(found.difference), p),
        ),
        (
            f"Side by side, not a comparison: {CAUTION}. The known cases only; interval by the square-and-add rule. No p-value "
            "under five cases that took, or that did not; exploratory. A p-value that is not small does not show the species to be alike.",
        ),
    )  # fmt: skip
