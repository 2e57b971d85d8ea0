"""The write-up of published series, entered as stores of our own, gives the printed counts and percentages."""

import pytest
from entered import loaded, protocol_of
from puzzles import DISAGREEMENTS, FIELD_WITHOUT, field_2015, pope_1985
from series import nolff_2015, tong_simpson_2012, vishwasrao_2017

from reports.write_up.evidence import evidence
from reports.write_up.manuscript import manuscript

# All read in the abstract only.
NOLFF = "Nolff MC, Meyer-Lindenberg A. J Feline Med Surg 2015;17:1041-1048"
VISHWASRAO = "Vishwasrao S. World Small Animal Veterinary Association proceedings 2017"
TONG = "Tong T, Simpson DJ. J Small Anim Pract 2012;53:520-525"
FIELD = "Field EJ and others. J Small Anim Pract 2015;56:698-706"
POPE = "Pope ER. Am J Vet Res 1985;46:2530-2535"


def written(series, folder, unit=None):
    with loaded(series, folder) as store:
        found = evidence(store.under(protocol_of(series, folder, unit=unit)))
    paper = manuscript(found)
    return found, paper, {fact.id: fact.text for fact in paper.facts}


@pytest.mark.parametrize(
    ("series", "unit", "fact", "printed"),
    [
        (nolff_2015, "every_reconstruction", "take-cat", "10 of 10 (100 %"),  # NOLFF: all ten at three quarters or more
        (
            vishwasrao_2017,
            "first_per_animal",
            "take-dog",
            "7 of 11 (64 %",
        ),  # VISHWASRAO: seven whole, then 50, 50, 30, 0
        (tong_simpson_2012, "first_per_animal", "take-dog", "7 of 7"),  # TONG: none lost through its full thickness
    ],
)
def test_take_as_printed(series, unit, fact, printed, tmp_path):
    _, _, facts = written(series(), tmp_path, unit)
    assert facts[fact].startswith(printed)


def test_every_value_of_a_small_series_is_listed(tmp_path):
    _, _, facts = written(tong_simpson_2012(), tmp_path)
    assert facts["alive-dog"] == "100, 100, 100, 100, 100, 100 and 100 %"


def test_slough_of_the_surface_is_told_beside_take(tmp_path):
    """TONG: four of seven grafts had partial superficial epidermal necrosis, and all seven survived."""
    _, _, facts = written(tong_simpson_2012(), tmp_path)
    assert facts["slough-dog"] == "4 of 7"


def test_hair_of_six_cats_as_printed(tmp_path):
    """NOLFF: normal in four, sparse in one, none in one of the six cats."""
    _, paper, facts = written(nolff_2015(), tmp_path, "first_per_animal")
    assert facts["hair-cat-n"] == "6 of 6"
    hair = next(table for table in paper.tables if table.id == "score-hair")
    grades = [int(cell) for cell in hair.rows[0][3:8]]
    assert (grades[0], sum(grades[1:4]), grades[4]) == (1, 1, 4)


def test_ten_grafts_are_of_six_cats_and_what_is_unknown_of_them_is_no_none(tmp_path):
    """NOLFF: one of the six cats had five of the ten grafts; complications are not told by cat."""
    _, paper, facts = written(nolff_2015(), tmp_path)
    names = [row[0] for row in next(table for table in paper.tables if table.id == "case-lines").rows]
    assert {name.split(",")[0] for name in names} == {f"Cat {number}" for number in range(1, 7)}
    assert sum(name.endswith(", operation 5") for name in names) == 1
    assert facts["complication-cat-asked"] == "10 cases"
    assert facts["blinding-unknown"] == "6 ratings"


def test_denominators_say_what_the_papers_left_out(tmp_path):
    """FIELD: 64 with and 8 without make 72 of 73 animals; 89 % is of the 72. The species split is ours: sums only."""
    found, _, facts = written(field_2015(), tmp_path)
    told = [facts[name] for name in ("complication-dog", "complication-cat")]
    yes, known = (sum(int(text.split(" (")[0].split(" of ")[place]) for text in told) for place in (0, 1))
    assert (yes, known, round(100 * yes / known)) == (64, 72, 89)
    unknown = sum(int(facts.get(f"complication-{species}-unknown", "0")) for species in ("dog", "cat"))
    assert (unknown, len(found.lines)) == (1, 73)
    assert (
        facts["never-seen"] == "1 case"
    )  # the animal that the abstract leaves out; the others were seen on day 10 or 30
    assert [line.worst for line in found.lines].count("none") == FIELD_WITHOUT
    puzzle = next(p for p in DISAGREEMENTS if (p.began, p.counted) == (73, 72))
    assert "Field" in puzzle.source


def test_a_graft_that_left_the_denominator_is_told(tmp_path):
    """POPE: 30 grafts of 48 placed are printed as 64 %, which is 30 of 47."""
    _, _, facts = written(pope_1985(), tmp_path, "every_reconstruction")
    assert facts["take-dog"].startswith("30 of 47 (64 %")
    assert facts["take-dog-unknown"] == "1"
    assert facts["take-dog-bounds"] == "between 30 and 31 of 48"


def test_published_figures_beside_ours_say_which_denominator(tmp_path):
    """FIELD stands in the list of published figures with the animal that its abstract leaves out."""
    _, paper, _ = written(field_2015(), tmp_path)
    beside = next(table for table in paper.tables if table.id == "yardsticks-published")
    row = next(row for row in beside.rows if row[0].startswith("Field"))
    assert "64 with and 8 without make 72 of the 73" in row[1]
    assert "denominator" in row[4]
