"""The dictionary asks little, has no two columns of one name, and says why it asks."""

from audit.dictionary import RECONSTRUCTION_KEY, SHEETS, TABLES, fields


def test_at_most_ten_core_columns_and_they_stand_first():
    for table in SHEETS:
        core = len(table.core)
        assert core <= 10, table.name
        assert table.fields[:core] == table.core, table.name


def test_what_may_not_be_blank_is_core_and_what_is_key_exists():
    for table in SHEETS:
        assert {field for field in table.fields if field.must} <= set(table.core)
        assert set(table.keys) <= {field.name for field in table.fields}


def test_names_are_unique_and_every_field_has_a_reason():
    for table in SHEETS:
        assert len({f.name for f in table.fields}) == len({f.column for f in table.fields}) == len(table.fields)
    assert all(field.why and field.term for _, field in fields())


def test_codes_are_plain_words_with_labels():
    for table, field in fields():
        assert (field.kind in ("code", "codes", "yes_no")) == bool(field.codes), (table.name, field.name)
        assert len(set(field.words)) == len(field.words)
        assert all(code.label and code.name.replace("-", "").replace("_", "").isalnum() for code in field.codes)


def test_every_table_below_a_wound_hangs_on_an_operation():
    for table in TABLES[2:]:
        assert table.keys[:3] == RECONSTRUCTION_KEY
