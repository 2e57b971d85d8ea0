"""Every rule finds the fault that was planted for it, in its row, and leaves a clean animal alone."""

import re
from importlib.resources import files

import pytest
from one_animal import case, check, day, found, together

from audit.dictionary import SHEETS, fields
from audit.engine import over_frames, queries
from audit.intake import checks
from audit.intake.checks import CHECKS


def add(sheet, **values):
    """Plant by a further row: a copy of the sheet's first one with other values."""
    return lambda rows: rows[sheet].append(rows[sheet][0] | values)


def put(sheet, row=0, **values):
    """Plant by other values in a row."""
    return lambda rows: rows[sheet][row].update(values)


def both(*plants):
    return lambda rows: [plant(rows) for plant in plants]


def drop(sheet):
    return lambda rows: rows[sheet].clear()


SECOND = both(
    put("exits", exit_reason="re_grafted", exit_date=day(40), last_seen_date=day(40)),
    add("reconstructions", operation_number=2, surgery_date=day(40)),
    add("exits", operation_number=2, exit_reason="lost_before_healing", exit_date=day(60), last_seen_date=day(60)),
    put("scores", photo_date=day(30)),
)
WITH_BLANK_LETTER = both(add("wounds", wound_letter="B", region="carpus"), put("scores", wound_letter=None))

# rule: (the plant, sheet and place of the faulty row among the animal's rows there, heading)
PLANTS = {
    "row_twice": (add("animals"), "Animals", 1, "Patient number"),
    "animal_unknown": (drop("animals"), "Wounds", 0, "Patient number"),
    "wound_unknown": (put("reconstructions", wound_letter="B"), "Reconstructions", 0, "Wound letter"),
    "operation_unknown": (put("scores", operation_number=2), "Scores", 0, "Patient number"),
    "wound_assumed": (WITH_BLANK_LETTER, "Scores", 0, "Wound letter"),
    "operation_assumed": (both(SECOND, put("scores", operation_number=None)), "Scores", 0, "Operation number"),
    "operations_out_of_order": (
        both(SECOND, put("reconstructions", 1, surgery_date=day(-5))),
        "Reconstructions",
        1,
        "Surgery date",
    ),
    "operation_before_missing": (
        both(SECOND, put("reconstructions", 1, operation_number=3), put("exits", 1, operation_number=3)),
        "Reconstructions",
        1,
        "Operation number",
    ),
    "days_out_of_order": (put("exits", last_seen_date=day(96)), "Exits", 0, "Last seen date"),
    "visit_after_death": (
        put("exits", exit_reason="died_unrelated", exit_date=day(20), last_seen_date=day(20)),
        "Visits",
        1,
        "Visit date",
    ),
    "visit_after_exit": (
        put("exits", exit_reason="healed_then_lost", exit_date=day(20), last_seen_date=day(20)),
        "Visits",
        1,
        "Visit date",
    ),
    "visits_disagree": (
        add("visits", contact="home_visit", epithelialised="yes", open_area_cm2=0, lost_pct=8),
        "Visits",
        2,
        "Epithelialised",
    ),
    "opened_again": (add("visits", visit_date=day(40), epithelialised="no"), "Visits", 2, "Epithelialised"),
    "shares_do_not_add": (put("visits", uncertain_pct=9), "Visits", 0, "Viable %"),
    "judged_unseen": (put("visits", graft_visible=False), "Visits", 0, "Viable %"),
    "healed_by_hearsay": (
        add(
            "visits",
            visit_date=day(50),
            contact="phone",
            epithelialised="yes",
            open_area_cm2=None,
            viable_pct=None,
            lost_pct=None,
            uncertain_pct=None,
            graft_visible=False,
        ),
        "Visits",
        2,
        "Epithelialised",
    ),
    "open_area_disagrees": (put("visits", open_area_cm2=0), "Visits", 0, "Open area cm2"),
    "areas_do_not_add": (put("reconstructions", uncovered_area_cm2=9), "Reconstructions", 0, "Graft area cm2"),
    "perimeter_too_short": (put("wounds", perimeter_cm=17), "Wounds", 0, "Perimeter cm"),
    "area_is_product": (put("wounds", area_cm2=40), "Wounds", 0, "Area cm2"),
    "sutures_disagree": (put("donor_sites", suture_state="absorbable"), "Donor sites", 0, "Suture out date"),
    "weight_for_species": (
        both(put("animals", species="cat"), put("reconstructions", body_mass_kg=15.5)),
        "Reconstructions",
        0,
        "Body mass kg",
    ),
    "age_for_species": (
        both(put("animals", species="cat", age_years=22.5), put("reconstructions", body_mass_kg=5)),
        "Animals",
        0,
        "Age years",
    ),
    "wound_beyond_body": (
        both(put("reconstructions", body_mass_kg=0.6), put("wounds", area_cm2=200, length_cm=20, width_cm=12.5)),
        "Wounds",
        0,
        "Area cm2",
    ),
    "condition_beyond_scale": (put("reconstructions", bcs=6, bcs_scale="of_5"), "Reconstructions", 0, "Bcs"),
    "anaesthesia_too_short": (
        put("reconstructions", surgery_min=90, anaesthesia_min=80),
        "Reconstructions",
        0,
        "Anaesthesia min",
    ),
    "healed_unseen": (put("visits", 1, epithelialised="not_assessable", open_area_cm2=None), "Exits", 0, "Exit reason"),
    "exit_missing": (drop("exits"), "Reconstructions", 0, "Operation number"),
    "grade_disagrees": (put("complications", grade="minor"), "Complications", 0, "Grade"),
    "loss_was_no_loss": (
        both(put("exits", exit_reason="healed_then_lost"), put("complications", action=["amputation"])),
        "Exits",
        0,
        "Exit reason",
    ),
    "mesh_without_mesh": (
        put("reconstructions", done_method="strip", meshed=None),
        "Reconstructions",
        0,
        "Mesh expansion",
    ),
    "more_pieces_than_laid": (
        both(
            put("reconstructions", done_method="punch", meshed=None, mesh_expansion=None, pieces_placed=20),
            put("visits", pieces_alive=18, pieces_seen=21),
        ),
        "Visits",
        0,
        "Pieces alive",
    ),
    "take_not_judged": (put("visits", viable_pct=None, lost_pct=None), "Visits", 0, "Viable %"),
    "depth_of_loss_missing": (put("visits", loss_depth=None), "Visits", 0, "Loss depth"),
    "score_off_scale": (put("scores", value=5), "Scores", 0, "Value"),
    "infection_without_ground": (
        put("complications", complication="infection_deep"),
        "Complications",
        0,
        "Infection basis",
    ),
    "extent_of_loss_missing": (put("complications", complication="partial_necrosis"), "Complications", 0, "Extent %"),
    "operation_after_regraft_missing": (put("exits", exit_reason="re_grafted"), "Exits", 0, "Exit reason"),
    "not_done_but_seen": (
        put("reconstructions", done_method="not_done", meshed=None, mesh_expansion=None),
        "Visits",
        0,
        "Viable %",
    ),
}
BESIDE = {
    "wound_unknown": {"operation_unknown", "exit_missing"},
    "operations_out_of_order": {"day_out_of_range"},
    "operation_before_missing": {"operation_after_regraft_missing"},
    "visit_after_death": {"seen_later_than_said"},
    "visit_after_exit": {"seen_later_than_said"},
}
"""What else the same mistake sets off."""

LARGE = put("wounds", length_cm=40, width_cm=33)
NO_TAKE = dict.fromkeys(("viable_pct", "lost_pct", "uncertain_pct"))
PUNCH = put("reconstructions", done_method="punch", meshed=None, mesh_expansion=None, pieces_placed=20)
ALSO = [
    ("judged_unseen", put("visits", graft_visible=False, viable_pct=None, uncertain_pct=None)),
    ("judged_unseen", put("visits", 1, graft_visible=False, **NO_TAKE)),
    ("judged_unseen", put("visits", contact="phone")),
    ("more_pieces_than_laid", both(PUNCH, put("visits", pieces_alive=18, pieces_seen=17))),
    ("more_pieces_than_laid", both(PUNCH, put("visits", pieces_alive=21))),
    ("open_area_disagrees", put("visits", 1, open_area_cm2=0.5)),
    (
        "loss_was_no_loss",
        both(put("exits", exit_reason="transferred_care"), put("complications", action=["euthanasia"])),
    ),
    (
        "loss_was_no_loss",
        both(put("exits", exit_reason="transferred_care"), put("complications", complication="death")),
    ),
    ("mesh_without_mesh", put("reconstructions", done_method="flap_axial", mesh_expansion=None)),
    ("score_off_scale", put("scores", value=2.5)),
    ("score_off_scale", put("scores", item="look_owner", value=10.5)),
    ("sutures_disagree", put("donor_sites", suture_out_date=None)),
    ("shares_do_not_add", put("visits", viable_pct=84)),
    ("shares_do_not_add", put("visits", viable_pct=94, uncertain_pct=None)),
    ("visits_disagree", add("visits", contact="home_visit", viable_pct=70, lost_pct=25)),
    ("area_is_product", put("wounds", area_method="product_lw")),
    ("perimeter_too_short", put("visits", open_perimeter_cm=6)),
    ("healed_unseen", put("visits", 1, contact="phone", graft_visible=None, **NO_TAKE)),
    ("age_for_species", put("animals", age_years=18.5)),
    ("operation_after_regraft_missing", put("exits", exit_reason="converted_other_method")),
    ("areas_do_not_add", put("reconstructions", graft_area_cm2=20, uncovered_area_cm2=2)),
    ("areas_do_not_add", put("reconstructions", done_method="sheet_full", meshed=None, mesh_expansion=None,
                             uncovered_area_cm2=7)),
    ("grade_disagrees", put("complications", grade="catastrophic")),
    ("perimeter_too_short", put("wounds", perimeter_cm=18.7)),
    ("wound_beyond_body", both(put("reconstructions", body_mass_kg=8), LARGE, put("wounds", area_cm2=1010))),
    ("healed_unseen", both(put("exits", exit_reason="healed_then_lost"),
                           put("visits", 1, epithelialised="not_assessable", open_area_cm2=None))),
    *(("visit_after_death", put("exits", exit_reason=died, exit_date=day(20), last_seen_date=day(20)))
      for died in ("died_related", "euthanased_wound", "euthanased_other", "euthanased_financial")),
    *(("visit_after_exit", put("exits", exit_reason=left, exit_date=day(20), last_seen_date=day(20)))
      for left in ("amputated_wound", "amputated_other", "transferred_care")),
]  # fmt: skip
"""Other ways to break a rule: each must be found too."""

ELSEWHERE = {"numbers_alike", "species_together", "round_figures", "surgeons_judge_themselves", "unknown_in_one_arm",
             "theatre_case_absent", "seen_later_than_said"}  # fmt: skip
"""Rules about a whole file, or about two animals: each has a test of its own below."""


@pytest.fixture(scope="module")
def planted(tmp_path_factory):
    """One workbook with an animal for each rule, and a clean one, and which animal stands in which row."""
    cases = {name: case(name) for name in (*PLANTS, "clean")}
    for name, (plant, *_) in PLANTS.items():
        plant(cases[name])
    for number, (name, plant) in enumerate(ALSO):
        plant(cases.setdefault(f"{number} {name}", case(f"{number} {name}")))
    rows = together(*cases.values())
    owner = {}
    titles = {"donor_sites": "Donor sites", "theatre_list": "Theatre list"}
    for sheet, group in rows.items():
        for number, row in enumerate(group, start=3):  # headings and the example row stand above
            owner[titles.get(sheet, sheet.capitalize()), number] = row["patient_number"]
    return check(rows, tmp_path_factory.mktemp("planted")), owner


def of(planted, name):
    intake, owner = planted
    return [fault for fault in intake.faults if owner.get((fault.sheet, fault.row)) == name and fault.check != "blank"]


@pytest.mark.parametrize("name", PLANTS)
def test_rule_finds_its_plant_in_its_place(planted, name):
    _, sheet, place, heading = PLANTS[name]
    own_rows = sorted(row for (title, row), patient in planted[1].items() if (title, patient) == (sheet, name))
    faults = of(planted, name)
    assert [(f.sheet, f.row, f.column) for f in faults if f.check == name][:1] == [(sheet, own_rows[place], heading)]
    assert {fault.check for fault in faults} - {name} <= BESIDE.get(name, set())
    severity = {rule.name: rule.severity for rule in CHECKS}[name]
    assert all(fault.severity == severity and fault.cell for fault in faults if fault.check == name)


@pytest.mark.parametrize(("number", "name"), [(number, name) for number, (name, _) in enumerate(ALSO)])
def test_rule_finds_the_other_ways_to_break_it(planted, number, name):
    assert name in {fault.check for fault in of(planted, f"{number} {name}")}


def test_clean_animal_is_left_alone(planted, tmp_path):
    assert of(planted, "clean") == []
    assert check(case(), tmp_path).faults == ()


def test_every_rule_has_a_query_and_a_test():
    written = {
        file.name.removesuffix(".sql") for file in (files("queries") / "checks").iterdir() if file.name.endswith(".sql")
    }
    assert {rule.name for rule in CHECKS} == written == set(PLANTS) | ELSEWHERE


@pytest.fixture(scope="module")
def incoming_clean(tmp_path_factory):
    """The rows of the clean animal, with the checks over them."""
    with pytest.MonkeyPatch.context() as patch:
        tables = {}
        patch.setattr(checks, "over_frames", lambda frames: tables.update(frames) or over_frames(frames))
        check(case(), tmp_path_factory.mktemp("clean"))
    with over_frames(tables) as engine:
        yield engine


FIELDS = {each.name: {field.name for field in each.fields} for each in SHEETS}
WORDS = {
    field.name: {code.name for code in field.codes} | {code.group for code in field.codes} for _, field in fields()
}


@pytest.mark.parametrize("name", [rule.name for rule in CHECKS])
def test_a_query_names_tables_fields_and_codes_that_there_are(name, incoming_clean):
    """A name that is misspelt is found here, whether or not a planted fault leads there."""
    assert incoming_clean.rows(name).empty
    text = re.sub("--.*", "", queries("checks")[name])
    words = set(re.findall(r"'([a-z]\w*)'", text)) | set(re.findall(r"'%(\w+)=?%'", text))
    assert words <= set(FIELDS).union(*FIELDS.values(), *WORDS.values())

    sheets = re.findall(r"'(\w+)' as sheet", text) + re.findall(r"select '(\w+)', ", text)
    places = re.findall(r"(case[^;]*?end|'\w+') as field", text) + re.findall(r"row_number, ('\w+')", text)
    named = {word for place in places for word in re.findall(r"(?:then |else |^)'(\w+)'", place)}
    assert set(sheets) <= set(FIELDS)
    assert named
    assert named <= set().union(*(FIELDS[sheet] for sheet in sheets or FIELDS))
    assert set(re.findall(r"\b(?!assumed)\w+\.field = '(\w+)'", text)) <= set(WORDS)


def test_numbers_that_differ_in_zeros_only(tmp_path):
    assert found(check(together(case("123"), case("0123"), case("124")), tmp_path)) == ["numbers_alike"]


def test_dogs_and_cats_in_one_file(tmp_path):
    cat = case("cat")
    put("animals", species="cat")(cat)
    put("reconstructions", body_mass_kg=4.4)(cat)
    (fault,) = check(together(case("dog"), cat), tmp_path).faults
    assert (fault.check, fault.severity, fault.sheet, fault.row) == ("species_together", "warning", "Animals", None)
    assert "1 dogs, 1 cats" in fault.sentence


def herd(plant, count=10):
    cases = [case(f"herd {number}") for number in range(count)]
    for number, each in enumerate(cases):
        plant(each, number)
    return together(*cases)


def test_digit_preference(tmp_path):
    def tens(rows, number):
        rows["visits"][0].update(viable_pct=80, lost_pct=15)
        rows["visits"][1].update(viable_pct=100)

    def tens_but_one(rows, number):
        tens(rows, number)
        rows["visits"][0].update(viable_pct=80 + (number == 3), lost_pct=15 - (number == 3))

    assert found(check(herd(tens), tmp_path)) == ["round_figures"]
    assert found(check(herd(tens_but_one), tmp_path)) == []


def test_only_the_surgeon_judged(tmp_path):
    def judged(surgeons):
        return lambda rows, number: [visit.update(assessor_operated=number < surgeons) for visit in rows["visits"]]

    def unjudged(rows, number):
        """Surgeons alone saw half of the animals, but read a take in none of them; in one more nobody says who did."""
        for visit in rows["visits"]:
            visit.update(assessor_operated=number < 2)
            if number < 2:
                visit.update(viable_pct="not assessable", lost_pct=None, uncertain_pct=None, loss_depth=None)
            elif number == 3:
                visit.update(assessor_operated=None)

    def shared(rows, number):
        rows["visits"][0].update(assessor_operated=True)

    (fault,) = check(herd(judged(2), 4), tmp_path).faults
    assert (fault.check, "in 2 of 4 operations" in fault.sentence) == ("surgeons_judge_themselves", True)
    for nothing_odd in (judged(1), unjudged, shared):
        assert found(check(herd(nothing_odd, 4), tmp_path)) == []


def test_unknown_takes_all_in_one_arm(tmp_path):
    def unknown(where):
        def plant(rows, number):
            if number < 5:
                put("reconstructions", done_method="sheet_full", meshed=None, mesh_expansion=None)(rows)
            if number in where:
                rows["visits"] = rows["visits"][1:]
                put("visits", viable_pct=None, lost_pct=None)(rows)

        return plant

    assert found(check(herd(unknown({0, 1, 2})), tmp_path)) == ["unknown_in_one_arm"]
    assert found(check(herd(unknown({0, 1, 7})), tmp_path)) == []


def test_case_of_the_theatre_list_that_is_absent(tmp_path):
    rows = case("00123")
    rows["theatre_list"] = [{"patient_number": number, "surgery_date": date} for number, date in
                            (("00123", day(1)), ("00123", day(60)), ("00777", day(0)))]  # fmt: skip
    faults = check(rows, tmp_path).faults
    assert [(fault.check, fault.cell) for fault in faults] == [
        ("theatre_case_absent", "A4"),
        ("theatre_case_absent", "A5"),
    ]


def test_seen_after_the_last_look_of_the_exit(tmp_path):
    rows = case()
    put("exits", last_seen_date=day(20))(rows)
    assert found(check(rows, tmp_path)) == ["seen_later_than_said"]


NEAR_MISSES = {
    "old cat": both(
        put("animals", species="cat", age_years=21), put("reconstructions", body_mass_kg=4.4, bcs=5, bcs_scale="of_5")
    ),
    "old dog": put("animals", age_years=17.5),
    "absorbable": put("donor_sites", suture_state="absorbable", suture_out_date=None),
    "no date known": put("donor_sites", suture_out_date="not recorded"),
    "round wound": put("wounds", perimeter_cm=19.8),
    "opened with a reason": both(
        add("visits", visit_date=day(40), epithelialised="no", open_area_cm2=1.5),
        add("complications", complication="dehiscence_edge", first_seen_date=day(40)),
    ),
    "told by telephone": add(
        "visits",
        visit_date=day(50),
        contact="phone",
        epithelialised="not assessable",
        graft_visible=False,
        **dict.fromkeys(("open_area_cm2", "viable_pct", "lost_pct", "uncertain_pct")),
    ),
    "amputated": both(
        put("exits", exit_reason="amputated_wound", exit_date=day(40), last_seen_date=day(40)),
        put("complications", action=["amputation"]),
        put("scores", photo_date=day(39)),
    ),
    "died on the day of a visit": put("exits", exit_reason="died_unrelated", exit_date=day(30), last_seen_date=day(30)),
    "pieces": both(
        put("reconstructions", done_method="punch", meshed=False, mesh_expansion=None, pieces_placed=20),
        put("visits", pieces_alive=20, pieces_seen=20),
    ),
    "not done": both(
        put("reconstructions", done_method="not_done", **dict.fromkeys(("meshed", "mesh_expansion", "graft_area_cm2"))),
        *(drop(sheet) for sheet in ("donor_sites", "visits", "scores", "complications", "exits")),
    ),
    "grade with a reason": put("complications", grade="catastrophic", grade_reason="related_death"),
    "doubtful share blank": put("visits", viable_pct=85, lost_pct=8, uncertain_pct=None),
    "rounded shares": put("visits", viable_pct=87.5, lost_pct=8, uncertain_pct=5.4),
    "grafted again": SECOND,
    "two wounds": both(add("wounds", wound_letter="B", region="carpus")),
    "two visits on a day": add("visits", contact="owner_photo", viable_pct=84, lost_pct=8, uncertain_pct=8),
    "old enough": put("animals", age_years=18),
    "oldest cat": both(put("animals", species="cat", age_years=22), put("reconstructions", body_mass_kg=15)),
    "as long asleep as cut": put("reconstructions", surgery_min=90, anaesthesia_min=90),
    "shares to 101": put("visits", viable_pct=88),
    "shares to 99": put("visits", viable_pct=86),
    "ten apart": add("visits", contact="home_visit", viable_pct=77, lost_pct=18),
    "only one share": put("visits", lost_pct=None, uncertain_pct=None, loss_depth=None),
    "could not be judged": put("visits", viable_pct="not assessable", lost_pct=None, uncertain_pct=None),
    "flap": both(
        put("reconstructions", done_method="flap_axial", meshed=False, mesh_expansion=1),
        put("visits", viable_pct=None, lost_pct=None, uncertain_pct=None),
    ),
    "known not to be known": put("complications", complication="infection_deep", infection_basis="not recorded"),
    "extent not known": put("complications", complication="partial_necrosis", extent_pct="not recorded"),
    "blank keys": put("scores", wound_letter=None, operation_number=None),
    "top grade": put("scores", value=4),
    "owner's half mark": put("scores", item="look_owner", value=9.5),
    "seen on the last day": put("exits", exit_date=day(30), last_seen_date=day(30)),
    "four edges": put("wounds", area_cm2=39),
    "mostly uncovered": put("reconstructions", graft_area_cm2=20, uncovered_area_cm2=11),
    "a fifth too much": both(
        put("wounds", area_cm2=25, perimeter_cm=18), put("reconstructions", graft_area_cm2=28, uncovered_area_cm2=2)
    ),
    "pieces leave gaps": put(
        "reconstructions",
        done_method="strip",
        meshed=None,
        mesh_expansion=None,
        graft_area_cm2=9,
        uncovered_area_cm2=1,
    ),
    "rest of the wound": both(SECOND, put("reconstructions", 1, graft_area_cm2=8, uncovered_area_cm2=1)),
    "grade as derived": put("complications", grade="major"),
    "hand on the tape": put("wounds", perimeter_cm=18.9),
    "large, but of a large dog once": both(
        SECOND,
        LARGE,
        put("wounds", area_cm2=990),
        put("reconstructions", 0, body_mass_kg=1),
        put("reconstructions", 1, body_mass_kg=8),
    ),
    "depth not applicable": put("visits", loss_depth="not applicable"),
}
"""Records that come close to a rule and break none."""


def test_no_rule_is_broken_by_what_only_comes_close(tmp_path):
    cases = [case(name) for name in NEAR_MISSES]
    for each, plant in zip(cases, NEAR_MISSES.values(), strict=True):
        plant(each)
    assert [str(fault) for fault in check(together(*cases), tmp_path).faults if fault.row] == []
