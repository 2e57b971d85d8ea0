"""Dogs and cats side by side: one sentence and one row, with what they do not tell."""

from audit.analyses.species_difference import SpeciesDifference
from reports import wording
from reports.document import Column, Table
from reports.sections.shares import known_share

CAUTION = "wounds and methods differ between the species, so this does not tell that the species is the cause"


def species_sentences(pair: SpeciesDifference | None) -> tuple[str, ...]:
    """Whether cats take better than dogs here, as far as can be told; nothing where there is one species only."""
    if pair is None:
        return ()
    if pair.difference is None:
        known = f"{pair.cats.cases.known} and {pair.dogs.cases.known}"
        return (f"Cats and dogs are not set side by side: {pair.refused}, and have {known}.",)
    low, high = pair.difference.low, pair.difference.high
    assert low is not None
    assert high is not None
    reading = "higher in cats" if low > 0 else "higher in dogs" if high < 0 else "cannot tell which is higher"
    p = "" if pair.p is None else f"; {wording.p_value(pair.p)}"
    return (
        f"Cats beside dogs: the share in cats less that in dogs is {wording.points(pair.difference)}{p}. Read: {reading}. "
        f"{CAUTION.capitalize()}.",
    )


def species_table(pair: SpeciesDifference | None, smallest: int) -> Table | None:
    """Both shares, their difference with its interval, and the p-value; none where the two are not set side by side."""
    if pair is None or pair.difference is None:
        return None
    p = "not given: too few" if pair.p is None else f"{wording.p_value(pair.p)}, {pair.p_method}"
    return Table(
        "take-species",
        "Take in cats beside dogs",
        (
            Column("What"), Column("Cats"), Column("Dogs"), Column("Cats less dogs (interval)"),
            Column("Could chance alone do it?"),
        ),
        (
            (pair.dogs.cases.question, known_share(pair.cats, smallest), known_share(pair.dogs, smallest),
             wording.points(pair.difference), p),
        ),
        (
            f"Side by side, not a comparison: {CAUTION}. The known cases only; interval by the square-and-add rule. No p-value "
            "under five cases that took, or that did not; exploratory. A p-value that is not small does not show the species to be alike.",
        ),
    )  # fmt: skip
