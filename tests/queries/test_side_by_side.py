"""Answers that set groups side by side: owners' marks, pairs of methods, species, chance, and waits for a bandage."""

import pytest
from scipy.stats import binom, fisher_exact, mannwhitneyu

from audit.analyses.agreement import agreement
from audit.analyses.audit import run_audit
from audit.analyses.bandages import bandages
from audit.analyses.scores import scores
from audit.analyses.take import take
from audit.protocol import read_protocol
from reports.sections.bandages import wait_sentences
from reports.sections.chance import chance_sentences
from reports.sections.owners import owner_sentences, owner_tables
from reports.sections.scores import score_section
from reports.sections.species import species_sentences, species_tables
from reports.sections.take import take_section
from reports.sections.yardsticks import own_words
from tests.queries.conftest import plant, plant_case

PROTOCOL = read_protocol()


def animal(number):
    return f"{number:012x}"


def mark(store, number, value, *, method="mesh_full", role="owner", **values):
    plant_case(store, animal(number), done_method=method)
    plant(store, "scores", animal=animal(number), item="look_owner", value=value, rater_role=role, **values)


def test_owners_marks_by_method_with_the_difference_and_no_vet_among_them(store):
    mesh, punch = (9, 8, 8, 7, 6), (5, 5, 4, 3, 7)
    for number, value in enumerate(mesh):
        mark(store, number, value)
    for number, value in enumerate(punch, start=10):
        mark(store, number, value, method="punch")
    mark(store, 20, 10, role="surgeon")
    mark(store, 21, 2, photo_day=30)

    (dogs,) = scores(store, PROTOCOL).owners
    assert (dogs.species, dogs.asked) == ("dog", 12)
    assert dogs.reasons == (("before day 90", 1), ("not marked by the owner", 1))
    assert [(group.group, group.marks, group.median.value) for group in dogs.groups] == [
        ("all", (3, 4, 5, 5, 6, 7, 7, 8, 8, 9), 6.5),
        ("mesh_graft", (6, 7, 8, 8, 9), 8),
        ("piece_graft", (3, 4, 5, 5, 7), 5),
    ]
    ((first, second, shift),) = dogs.shifts
    assert (first, second, shift.value) == ("mesh_graft", "piece_graft", 3)
    # The interval leaves out no difference just where the rank-sum test does.
    assert (shift.low > 0) == (mannwhitneyu(mesh, punch).pvalue < 0.05)

    (sentence,) = owner_sentences((dogs,))
    assert "10 of 12 cases; median 6.5 (95 % interval 4.0 to 8.0)" in sentence
    every, differences = owner_tables((dogs,))
    assert every.rows[1] == ("Dogs", "mesh grafts", "5", "8 (too few for an interval)", "6, 7, 8 (2), 9")
    assert differences.rows[0][1] == "mesh grafts less piece grafts"
    assert "not a comparison of methods" in differences.notes[0]


def test_an_animal_has_one_owner(store):
    mark(store, 1, 8)
    plant(store, "wounds", animal=animal(1), wound="B")
    plant(store, "reconstructions", animal=animal(1), wound="B", running_order=2)
    plant(store, "scores", animal=animal(1), wound="B", item="look_owner", value=3, rater_role="owner")
    everything = PROTOCOL.model_copy(
        update={"analysis": PROTOCOL.analysis.model_copy(update={"unit": "every_reconstruction"})}
    )
    store.bind(everything)

    (dogs,) = scores(store, everything).owners
    assert (dogs.asked, dogs.groups[0].marks, dogs.reasons) == (2, (8,), (("another case of the animal", 1),))


def test_pairs_of_three_methods_are_told_apart_beside_the_test_of_all(store):
    planted = {"mesh_full": (4,) * 6, "punch": (0,) * 6, "flap_axial": (4, 4, 4, 4, 4, 3)}
    number = 0
    for method, grades in planted.items():
        for grade in grades:
            number += 1
            plant_case(store, animal(number), done_method=method)
            plant(store, "scores", animal=animal(number), value=grade)

    answer = scores(store, PROTOCOL)
    (hair,) = answer.items
    assert [(a, b, pair.p_holm < 0.05) for a, b, pair in hair.apart] == [
        ("flap", "mesh_graft", False), ("flap", "piece_graft", True), ("mesh_graft", "piece_graft", True),
    ]  # fmt: skip
    table = next(t for t in score_section(answer, (), (), 10).tables if t.id == "score-alike")
    assert table.rows[0][:4] == ("Dogs", "Hair cover", "p < 0.001", "3")
    assert table.rows[0][4].startswith("flaps and piece grafts (p = ")


def test_kappa_of_just_two_raters(store):
    for number in range(16):
        plant_case(store, animal(number))
        for rater in (0, 1):
            grade = number % 5 if rater == 0 or number else 4
            plant(store, "scores", animal=animal(number), rater_code=animal(rater), value=grade)

    (hair,) = agreement(store, PROTOCOL)
    # One of sixteen is four grades apart: its mean squared distance, 1, over that of all pairs of grades.
    first, second = [n % 5 for n in range(16)], [4, *(n % 5 for n in range(1, 16))]
    expected = sum((a - b) ** 2 for a in first for b in second) / 16**2
    assert hair.kappa.value == pytest.approx(1 - 1 / expected)
    assert hair.kappa.low is not None

    plant(store, "scores", animal=animal(3), rater_code=animal(0), value=1, photo_day=200)
    plant(store, "scores", animal=animal(3), rater_code=animal(1), value=1, photo_day=200)
    store.bind(PROTOCOL)
    (hair,) = agreement(store, PROTOCOL)
    assert (hair.photographs, hair.kappa.low) == (17, None)
    agreed = next(
        t for t in score_section(scores(store, PROTOCOL), (hair,), (), 10).tables if t.id == "score-agreement"
    )
    assert "no 95 % interval" in agreed.rows[0][4]


def plant_takes(store, species, takes, start=0, region="carpus"):
    for number, viable in enumerate(takes, start=start):
        plant_case(store, animal(number), species=species, region=region)
        plant(store, "visits", animal=animal(number), viable_pct=viable, lost_pct=100 - viable, epithelialised="no")


def test_cats_beside_dogs(store):
    plant_takes(store, "dog", [100] * 10 + [10] * 10)
    plant_takes(store, "cat", [100] * 12 + [10], start=50)

    found = take(store, PROTOCOL).species
    assert found.difference.value == pytest.approx(12 / 13 - 0.5)
    # One graft an animal, so that the permutation of animals is Fisher's test but for ways equally far out.
    assert found.p == pytest.approx(fisher_exact([[12, 1], [10, 10]]).pvalue, abs=0.01)
    (sentence,) = species_sentences(found)
    assert "42 percentage points (95 % interval" in sentence
    assert "higher in cats" in sentence
    assert "does not tell that the species is the cause" in sentence
    assert len(species_tables(found, 10)) == 1


def test_few_of_a_species_are_not_set_beside_the_other(store):
    plant_takes(store, "dog", [100] * 20)
    assert take(store, PROTOCOL).species is None
    plant_takes(store, "cat", [100] * 4, start=50)
    store.bind(PROTOCOL)

    found = take(store, PROTOCOL).species
    assert found.difference is None
    assert species_sentences(found) == (
        "Cats and dogs are not set side by side: both need 10 known cases, and have 4 and 20.",
    )
    assert species_tables(found, 10) == ()


def test_almost_all_took_so_no_p_is_given(store):
    plant_takes(store, "dog", [100] * 12 + [10] * 2)
    plant_takes(store, "cat", [100] * 10 + [10] * 2, start=50)

    found = take(store, PROTOCOL).species
    assert found.p is None
    assert "p " not in species_sentences(found)[0].split("Read")[0]
    assert "not given: too few" in species_tables(found, 10)[0].rows[0]


def test_what_chance_allows_a_location_is_told_in_whole_cases(store):
    plant_takes(store, "dog", [100] * 28 + [10] * 2)
    plant_takes(store, "dog", [10] * 6 + [100] * 4, start=50, region="neck")

    answer = take(store, PROTOCOL)
    limits = {found.group: found for what, found in answer.chance if what == "location"}
    neck, limb = limits["head_and_neck"], limits["distal_limb"]
    # Of ten at the overall 32 of 40, chance gives fewer than five with 0.0064, more than ten with none.
    assert [round(10 * end) for end in neck.usual] == [int(binom.ppf(q, 10, 0.8)) for q in (0.025, 0.975)] == [5, 10]
    assert (neck.is_outside, limb.is_outside) == (True, False)
    (sentence,) = chance_sentences(answer, 10)
    assert "Dogs: head and neck (40 % (17 to 69 %); chance allows 50 to 100 % (40 to 100 %))" in sentence
    counts = take_section(answer, PROTOCOL).tables[0]
    assert counts.columns[-1].name == "Chance alone allows"
    assert counts.rows[0][-1] == "50 to 100 % (40 to 100 %)"


def test_where_all_took_chance_has_no_limits(store):
    plant_takes(store, "dog", [100] * 6)
    plant_takes(store, "dog", [100] * 6, start=50, region="neck")

    answer = take(store, PROTOCOL)
    assert (answer.chance, chance_sentences(answer, 10)) == ((), ())


def test_waits_longer_than_planned_count_in_the_phase_in_which_they_began(store):
    """The plan is 2, 4 and 7 days up to day 7, 14 and 21."""
    for number, (changes, healed) in enumerate(
        [
            ((2, 4, 6, 8, 12, 16, 23), None),  # keeps it throughout
            ((5, 6, 8, 13), None),  # first change on day 5, then 5 days from day 8
            ((2, 4, 6, 8), 12),  # healed before the next was due
        ]
    ):
        plant_case(store, animal(number))
        for day in changes:
            plant(
                store, "visits", animal=animal(number), visit_day=day, contact="inpatient", bandage_changed=True,
                epithelialised="no",
            )  # fmt: skip
        end = healed or max(changes) + 2
        plant(store, "visits", animal=animal(number), visit_day=end, epithelialised="yes" if healed else "no")
        plant(store, "exits", animal=animal(number), last_seen_day=60 if healed else end)

    answer = bandages(store, PROTOCOL)
    assert [(w.first_day, len(w.cases), len(w.late), w.longest) for w in answer.waits] == [
        (0, 3, 1, 5), (8, 3, 1, 5), (15, 1, 0, 7),
    ]  # fmt: skip
    assert answer.waits[0].late == answer.waits[1].late == (f"{animal(1)}-A1",)
    (sentence,) = wait_sentences(answer)
    assert "1 of 3 cases on days 0 to 7 (longest 5 days), 1 of 3 cases on days 8 to 14" in sentence


def test_share_healed_by_the_day_of_a_published_median(store):
    for number in range(12):
        plant_case(store, animal(number), done_method="punch")
        plant(store, "visits", animal=animal(number), visit_day=20, epithelialised="no" if number < 9 else "yes")
        plant(store, "visits", animal=animal(number), visit_day=27, epithelialised="yes" if number < 3 else "no")
        plant(store, "visits", animal=animal(number), visit_day=50, contact="home_visit", epithelialised="yes")

    papers = run_audit(store, PROTOCOL).yardsticks.published
    (paper,) = (stick for stick in papers if stick.quantity == "median_days")
    # By day 28 three healed by day 20 and three by day 27; the other six at some time from day 27 to 50.
    assert paper.theirs_point == 28
    assert (paper.by_their_median.value, paper.by_their_median.value_to) == pytest.approx((0.5, 1.0), abs=1e-6)
    assert "; by day 28, when half of theirs had healed, 50 to 100 % (95 % interval" in own_words(paper, 10)
