"""Every method that gives a number has its published source, and two lists of sources written apart agree."""

import re
from collections.abc import Iterator
from dataclasses import fields, is_dataclass
from importlib.resources import files

import pytest

from reports.sections.definitions import METHODS
from reports.write_up.references import catalogue, references

# Plain definitions need no source.
PLAIN = {"none"}


def methods_named(value: object) -> Iterator[str]:
    """Every `method` in the results, those of tests included."""
    if isinstance(value, tuple | list):
        for item in value:
            yield from methods_named(item)
    elif is_dataclass(value):
        if isinstance(getattr(value, "method", None), str):
            yield value.method
        for field in fields(value):
            yield from methods_named(getattr(value, field.name))


def sources_of(method: str) -> set[str]:
    """The keys of all sources whose words stand in the name of the method."""
    return {key for key, source in catalogue().items() if any(words in method for words in source.get("methods", ()))}


def test_every_method_of_the_demo_has_a_source(demo_evidence):
    named = set(methods_named(demo_evidence.audit))
    assert {"Wilson", "profile likelihood", "beta-binomial, full Bayes by quadrature"} < named
    assert [method for method in named - PLAIN if not sources_of(method)] == []
    assert {"wilson", "turnbull", "hudgens", "gelman", "efron-tibshirani"} <= set().union(*map(sources_of, named))


# Names that the statistics can give and that the invented practice does not happen to need.
@pytest.mark.parametrize(
    ("method", "keys"),
    [
        ("modified Jeffreys", {"brown-cai-dasgupta"}),
        ("Firth's penalised logistic regression, profile penalised likelihood", {"firth", "heinze-schemper"}),
        ("proportional odds, sandwich by animal, t quantile", {"mccullagh", "lin-wei"}),
        ("log-rank for interval-censored days (Sun's scores), permutation of animals",
         {"sun", "fay-shaw", "phipson-smyth"}),
        ("standardised over cells, Wilson on the effective number of animals, t quantile",
         {"keiding-clayton", "wilson", "rao-scott", "korn-graubard"}),
        ("exact Poisson (Garwood)", {"garwood"}),
        ("Hodges-Lehmann, exact", {"hodges-lehmann"}),
        ("Cohen's kappa, linear weights", {"cohen"}),
        ("profile likelihood, F quantile",
         {"turnbull", "hudgens", "peto", "thomas-grunkemeier", "murphy-van-der-vaart"}),
    ],
)  # fmt: skip
def test_method_rests_on_its_sources(method, keys):
    assert sources_of(method) == keys


def places_in(text: str) -> set[tuple[str, str]]:
    """Volume and first page of each source in a text, "22:209"."""
    return set(re.findall(r"\b(\d+)(?:\(\d+\))?:(\d+)", text))


def test_sources_of_the_report_and_of_the_methods_page_are_in_the_catalogue():
    known = places_in(" ".join(reference.full for reference in references(catalogue())))
    page = (files("audit") / "METHODS.md").read_text("utf-8")
    cells = [line.split("|")[4] for line in page.splitlines() if line.startswith("|") and line.count("|") == 6]
    for told in (" ".join(source for _, _, source in METHODS), " ".join(cells)):
        assert len(places_in(told)) > 10
        assert places_in(told) <= known


def test_short_names_tell_references_apart():
    short = [reference.short for reference in references(catalogue())]
    assert len(set(short)) == len(short)
    assert short == sorted(short, key=str.casefold)


def test_details_from_memory_say_so():
    doubtful, sure = references(["gilman", "clopper-pearson"])[::-1]
    assert doubtful.full.endswith("Wounds 1990;2:95-101. (details from memory; check)")
    assert sure.full == (
        "Clopper CJ, Pearson ES. The use of confidence or fiducial limits illustrated in the case of the binomial. "
        "Biometrika 1934;26:404-413."
    )


def test_unknown_key_is_named():
    with pytest.raises(ValueError, match="no reference for wislon"):
        references(["wislon", "wilson"])
