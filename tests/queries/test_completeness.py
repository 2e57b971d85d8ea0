"""What was due in each field, and what stands where there is no value."""

from audit.dictionary import fields
from tests.planted import found, plant, plant_case


def test_a_blank_is_none_of_the_four_words(store):
    plant_case(store)
    words = ("not_recorded", "not_assessable", "refused", "not_applicable")
    for day, word in enumerate(words):
        plant(store, "visits", visit_day=day, absent=[f"viable_pct={word}"])
    plant(store, "visits", visit_day=8, viable_pct=90)
    plant(store, "visits", visit_day=9)
    plant(store, "visits", visit_day=9, contact="phone", viable_pct=90, ended_by=2)

    rows = found(store, "completeness_tally")
    assert [row for row in rows if row[1] == "viable_pct"] == [("visits", "viable_pct", True, 5, 1, 1, 1, 1, 1, 1)]
    assert [row for row in rows if row[1] == "surgery_date"] == [
        ("reconstructions", "surgery_date", True, 1, 1, 0, 0, 0, 0, 0)
    ]
    assert [row for row in rows if row[1] == "exit_reason"] == [("exits", "exit_reason", True, 0, 0, 0, 0, 0, 0, 0)]


def test_every_field_but_the_keys_has_a_row(store):
    asked = sorted((table.name, field.name) for table, field in fields() if field.kind != "key")
    assert found(store, "completeness_tally", "table_name", "field") == asked
