"""Every method that gives a number has its published source, every source its use, and each is printed by its key."""

import re
from dataclasses import replace

import pytest

from audit.analyses.published import published_figures
from audit.methods import catalogue as methods_catalogue
from reports.catalogue import Catalogue
from reports.prose import Cite
from reports.references import brief, catalogue, references
from reports.write_up.manuscript import GUIDES
from reports.write_up.methods import SOFTWARE, methods
from reports.write_up.reporting_guide import SOURCES

METHODS = methods_catalogue().methods


def test_every_source_is_used_and_every_key_has_its_source():
    used = {key for method in METHODS.values() for key in method.sources} | {*GUIDES, *SOURCES, *SOFTWARE}
    assert used == set(catalogue())


def test_every_method_has_a_source_or_says_why_not():
    assert {key: method.no_source for key, method in METHODS.items() if not method.sources} == {
        "phase-rate-none": "nothing is estimated",
        "verdict": "a definition of our own",
    }


# Each method with its sources, written apart from the catalogue.
@pytest.mark.parametrize(
    ("key", "sources"),
    [
        ("penalised-logistic", {"firth", "heinze-schemper"}),
        ("proportional-odds", {"mccullagh", "lin-wei"}),
        ("interval-log-rank", {"sun", "fay-shaw", "phipson-smyth"}),
        ("standardised-shares", {"keiding-clayton", "wilson", "rao-scott", "korn-graubard"}),
        ("phase-rate-exact", {"garwood"}),
        ("mean-cumulative", {"nelson", "lawless-nadeau"}),
        ("follow-up", {"schemper-smith", "kaplan-meier", "brookmeyer-crowley", "greenwood"}),
        ("healed-share", {"turnbull", "hudgens", "peto", "thomas-grunkemeier", "murphy-van-der-vaart"}),
    ],
)
def test_method_rests_on_its_sources(key, sources):
    assert set(METHODS[key].sources) == sources


def test_the_report_names_every_method_with_its_sources(demo_evidence):
    (table,) = Catalogue(demo_evidence.audit).tables("methods")
    told = {key for row in methods_catalogue().report for key in row.methods}
    assert told == {key for key, method in METHODS.items() if method.sources}
    source = "Nelson, Technometrics 1995;37:147; Lawless and Nadeau, Technometrics 1995;37:158"
    assert ("Bandage changes", "Mean cumulative function with variance by animal", source) in table.rows


def test_the_log_of_the_demo_has_its_tests_too(demo_evidence):
    keys = {use.key for use in demo_evidence.log}
    assert {"share", "healed-share", "healed-quantile", "pooled-shares", "rank-test", "permutation"} < keys
    assert "standardised-shares" not in keys


def sentences(evidence):
    """Sentences of the manuscript's methods, each with the keys of its sources."""
    (body,) = [block.parts for block in methods(evidence) if getattr(block, "parts", ("",))[0] in SAID]
    told, now = {}, ""
    for part in body:
        now = part if part in SAID else now
        told.setdefault(now, []).extend([part.key] if isinstance(part, Cite) else [])
    return {said: tuple(keys) for said, keys in told.items()}


SAID = {sentence.says: sentence for sentence in methods_catalogue().sentences}


def test_the_manuscript_tells_of_every_method_that_ran_and_of_no_other(demo_evidence):
    for use in demo_evidence.log:
        wanted = {said: sentence.sources for said, sentence in SAID.items() if use.key in sentence.methods}
        if wanted:
            assert sentences(replace(demo_evidence, log=(use,))) == wanted
    not_run = {said for said, sentence in SAID.items() if not demo_evidence.ran(*sentence.methods)}
    assert SAID.keys() - sentences(demo_evidence).keys() == not_run
    assert len(not_run) == 3


# Each was another method's word once: of placement values, Wilson; of a difference, Clopper and Pearson.
def test_a_method_is_not_told_for_a_word_of_its_name(demo_evidence):
    by_name = {use.method: use for use in demo_evidence.log}
    difference = by_name["square-and-add of Wilson and Clopper-Pearson"]
    placement = by_name["Wilson on the effective number of placement values, t quantile"]
    assert sentences(replace(demo_evidence, log=(difference, placement))) == {
        "Differences between shares have square-and-add intervals": ("newcombe-difference",)
    }


def test_a_key_that_no_method_has_cannot_have_run(demo_evidence):
    assert demo_evidence.ran("alpha", "kappa")
    assert not demo_evidence.ran("kappa")
    with pytest.raises(ValueError, match="no method has the key Wilson"):
        demo_evidence.ran("Wilson")


def test_a_reader_can_find_the_paper_of_every_published_figure():
    """By author, or title where no author was seen, with journal and year, and volume, issue or doi."""
    findable = re.compile(r"[A-Z].+\. .+ \d{4}(;\d+:\d+|, doi 10\.|, issue \d)|.+ proceedings \d{4}")
    sources = {figure.source for figure in published_figures()}
    assert [source for source in sources if not findable.match(source) or "Anonymous" in source] == []


def test_short_names_tell_references_apart():
    short = [reference.short for reference in references(catalogue())]
    assert len(set(short)) == len(short)
    assert short == sorted(short, key=str.casefold)


def test_details_from_memory_say_so():
    doubtful, sure = references(["gilman", "clopper-pearson"])[::-1]
    assert doubtful.full.endswith("Wounds 1990;2:95-101. (details from memory; check)")
    assert brief("gilman") == "Gilman, Wounds 1990;2:95 (from memory)"
    assert sure.full == (
        "Clopper CJ, Pearson ES. The use of confidence or fiducial limits illustrated in the case of the binomial. "
        "Biometrika 1934;26:404-413."
    )


def test_a_book_has_its_edition_and_chapter_in_its_place():
    (gelman,) = references(["gelman"])
    assert gelman.full.endswith("Bayesian Data Analysis. 3rd edition, chapter 5. Boca Raton: CRC Press, 2013.")
    assert brief("krippendorff") == "Krippendorff, Content Analysis, 4th edition 2018"


def test_unknown_key_is_named():
    for ask in (lambda: references(["wislon", "wilson"]), lambda: brief("wislon")):
        with pytest.raises(ValueError, match="no reference for wislon"):
            ask()
