"""What a surgeon reads must be so: planted records whose sentences would be easy to get wrong, read whole."""

from collections.abc import Iterator
from itertools import pairwise

import pytest

from audit.analyses.run import Audit, run_audit
from audit.protocol import Protocol, read_protocol
from audit.store import Store, open_store
from reports.audit_report import audit_report
from reports.document import Report, Section, Table
from reports.sections.scores import blinded_sentences
from reports.sections.yardsticks import verdict_words
from tests.planted import plant, plant_case, protocol_with

SLOUGHED = {"viable_pct": 60, "lost_pct": 40, "loss_depth": "epidermal_only"}


@pytest.fixture
def store() -> Iterator[Store]:
    with open_store(":memory:") as opened:
        yield opened


def animal(number: int) -> str:
    return f"{number:012x}"


def graft(store: Store, number: int, *, day: int = 10, done_method: str = "mesh_full", **seen: object) -> None:
    """One animal with one operation, looked at once if anything was seen."""
    plant_case(store, animal(number), done_method=done_method)
    if seen:
        plant(store, "visits", animal=animal(number), visit_day=day, **seen)


def read(store: Store, protocol: Protocol | None = None) -> tuple[Audit, Report]:
    audit = run_audit(store.under(protocol or read_protocol()))
    return audit, audit_report(audit)


def section(report: Report, name: str) -> Section:
    return next(part for part in (*report.sections, *report.definitions) if part.id == name)


def table(report: Report, name: str) -> Table:
    return next(table for table in report.tables if table.id == name)


def test_loss_of_the_surface_only_is_told_beside_take(store):
    for number in range(3):
        graft(store, number, viable_pct=100, lost_pct=0)
    for number in range(3, 7):
        graft(store, number, **SLOUGHED)
    graft(store, 7, viable_pct=10, lost_pct=90, loss_depth="full_thickness")

    audit, report = read(store)
    assert audit.take.surface_only == (
        ("dog", tuple(f"{animal(n)}-A1" for n in range(3, 7)), tuple(f"{animal(n)}-A1" for n in range(7))),
    )
    assert (
        "Dogs: of the grafts counted as taken, 4 of 7 had lost the surface layer only."
        in section(report, "take").sentences
    )


def test_flaps_only_are_asked_nothing_of_take_and_no_table_is_empty(store):
    for number in range(3):
        graft(store, number, done_method="flap_axial", epithelialised="no")

    _, report = read(store)
    part = section(report, "take")
    assert part.sentences == ("There is no free graft among these operations, so take is not asked about.",)
    assert part.sentences[0] in report.headlines
    assert not part.tables
    assert all(table.rows for table in report.tables)
    assert all(part.sentences for part in report.sections)


def test_what_counts_follows_the_unit(store):
    graft(store, 1, viable_pct=90, lost_pct=10)
    first, every = (
        {text for part in ("take", "definitions") for text in _words(section(read(store, protocol)[1], part))}
        for protocol in (read_protocol(), protocol_with("analysis", unit="every_reconstruction"))
    )
    assert {text for text in first if "first reconstruction counts" in text or "unless a table says otherwise" in text}
    assert not {text for text in every if "first reconstruction" in text or "the first of each animal" in text}
    assert {text for text in every if "Every graft counts here" in text}
    assert {text for text in every if "every one of an animal is counted" in text}


def _words(part: Section) -> list[str]:
    return [*part.remarks, *(cell for table in part.tables for row in table.rows for cell in row)]


def test_traits_of_animals_are_counted_by_animal_and_wounds_by_operation(store):
    graft(store, 1)
    plant(store, "wounds", animal=animal(1), wound="B", region="flank")
    plant(store, "reconstructions", animal=animal(1), wound="B", running_order=2, body_mass_kg=30)
    store._connection.execute("update animals set sex = 'male', age_years = 4")

    _, report = read(store, protocol_with("analysis", unit="every_reconstruction"))
    rows = {row[:2]: row[2] for row in table(report, "characteristics").rows}
    assert rows["Operations", ""] == "2"
    assert rows["Sex", "male"] == rows["Body weight (kg)", "not known"] == "1"
    assert rows["Location", "trunk"] == rows["Location", "distal limb"] == "1"
    assert "once an animal" in table(report, "characteristics").notes[1]


def test_nothing_seen_of_healing_is_told_as_nothing(store):
    for number in range(12):
        graft(store, number, viable_pct=90, lost_pct=10)

    _, report = read(store)
    healing = section(report, "healing")
    assert healing.sentences[0] == (
        "Dogs: by day 21, 0 of 12 free grafts had surely healed, 0 surely not, and 12 cannot be told; the share healed "
        "cannot be told. Median: cannot be told."
    )
    shown = [cell for table in healing.tables for row in table.rows for cell in row]
    assert not [cell for cell in shown if "0 to 120" in cell or "0 to 100 % (0 to 100 %)" in cell]
    (cases,) = (figure for figure in healing.figures if figure.id == "healing-cases")
    assert "12 not seen healed" in cases.description
    assert "on day 10;" in next(figure for figure in report.figures if figure.id == "take-every-graft").caption
    assert section(report, "cases").sentences[1] == "Half of the cases were followed to day 10 or longer."


def test_all_of_the_graft_is_not_all_of_it_or_more(store):
    for number in range(3):
        graft(store, number, viable_pct=100, lost_pct=0)
    _, report = read(store, protocol_with("take", threshold_pct=100, also_pct=(75,)))
    assert section(report, "take").sentences[0].startswith("Dogs: all of the graft was alive at day 7 to 14 in 3 of 3")
    text = [cell for row in table(report, "take-thresholds").rows for cell in row]
    assert not [cell for cell in (*text, *section(report, "take").sentences) if "100 % or more" in cell]


def test_blinding_that_was_not_recorded_is_not_called_absent(store):
    graft(store, 1, epithelialised="yes")
    for rater, blind in enumerate((True, True, False, None)):
        plant(store, "scores", animal=animal(1), rater_code=animal(rater), value=3, blinded_to_method=blind)
    audit, _ = read(store)
    assert (audit.scores.blinded, audit.scores.blinding_unknown) == ((2, 3), 1)
    assert blinded_sentences(audit.scores) == (
        "2 of 3 ratings came from raters blind to the method; of 1 more it is not on record.",
    )
    store._connection.execute("update scores set blinded_to_method = null")
    assert blinded_sentences(read(store)[0].scores) == (
        "Of 4 ratings none tells whether the rater was blind to the method.",
    )


def test_no_verdict_across_thresholds_or_where_most_cannot_be_told(store):
    for number in range(6):
        graft(store, number, viable_pct=100, lost_pct=0)
    audit, report = read(store, protocol_with("take", threshold_pct=90))
    beside = [stick for stick in audit.yardsticks.published if stick.quantity == "take"]
    assert {verdict_words(stick) for stick in beside} == {"no verdict: theirs is of 75 %, ours of 90 %"}
    ours = [row[3] for row in table(report, "yardsticks-published").rows if "three quarters" in row[1]]
    assert ours
    assert all(cell.startswith("Dogs, take of 90 % or more: 6 of 6") for cell in ours)

    for number in range(6, 13):
        graft(store, number)
    audit, _ = read(store)
    judged = [*audit.yardsticks.target, *(stick for stick in audit.yardsticks.published if stick.quantity == "take")]
    assert {verdict_words(stick) for stick in judged} == {"no verdict: more cases cannot be told than are known"}


def test_a_complication_without_a_treatment_has_no_grade_of_any_kind(store):
    graft(store, 1)
    store._connection.execute("delete from complications")
    plant(store, "complications", animal=animal(1), action=None)
    audit, _ = read(store)
    assert audit.complications.overridden == ()
    assert audit.complications.worst["worst_grade"].tolist() == ["grade not known"]


def test_core_columns_come_first_on_every_sheet(store):
    graft(store, 1, viable_pct=90, lost_pct=10)
    plant(store, "exits", animal=animal(1))
    rows = table(read(store)[1], "completeness-counts").rows
    assert len(rows) > 10
    of_one_sheet = [(a[1], b[1]) for a, b in pairwise(rows) if a[0] == b[0]]
    assert set(of_one_sheet) == {("core", "other")}
