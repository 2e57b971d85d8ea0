"""The manuscript of the invented practice: every number of it stands in a result, and it says only what it may."""

import re
from dataclasses import replace
from datetime import date

import pytest
from traced import numbers, resolve, spellings

from audit.intake.check_workbook import check_workbook
from audit.protocol import read_protocol
from audit.store import open_store
from reports import catalogue
from reports.prose import Ask, Fact, Heading, Paragraph
from reports.write_up.evidence import evidence
from reports.write_up.manuscript import manuscript
from synthetic_data.edge_cases import NAMES, edge_case
from synthetic_data.workbook import write_workbook

NEVER = ("no difference", "not significant", "compliant", "compliance", "proves", "gold standard")


@pytest.fixture(scope="module")
def found(demo_evidence):
    return demo_evidence


@pytest.fixture(scope="module")
def paper(found):
    return manuscript(found)


def source(found, path):
    """What a fact was read from: a place in the audit, or beside it."""
    root = found if hasattr(found, path.split(".")[0]) else found.audit
    return resolve(root, path)


def untraced(found, fact):
    """The numbers of a fact that none of its sources holds. Counts that raise a limitation are recounted apart."""
    if fact.id.startswith("limitation-"):
        return []
    held = set().union(*(spellings(source(found, path)) for path in fact.source.split()))
    return [number for number in numbers(fact.text) if number not in held]


def test_every_number_of_the_text_is_in_the_result_it_names(found, paper):
    lost = {fact.id: untraced(found, fact) for fact in paper.facts}
    assert {name: missing for name, missing in lost.items() if missing} == {}
    assert sum(len(numbers(fact.text)) for fact in paper.facts) > 200


def test_the_paper_builds_the_figures_and_tables_that_it_prints_and_no_other(found, monkeypatch):
    built = {}
    for kind in ("FIGURES", "TABLES"):
        kept = {
            name: lambda audit, name=name, build=build: built.setdefault(name, build(audit))
            for name, build in getattr(catalogue, kind).items()
        }
        monkeypatch.setattr(catalogue, kind, kept)
    paper = manuscript(found)
    printed = {part.id for part in (*paper.figures, *paper.tables)} - {"case-lines", "methods-log", "reporting-guide"}
    assert set(built) == printed
    assert all(part.id == name for name, part in built.items())


def test_a_number_that_no_result_holds_is_noticed(found, paper):
    share = next(fact for fact in paper.facts if fact.id == "take-dog")
    assert untraced(found, replace(share, text=share.text.replace("19", "18"))) == ["18"]


def test_no_number_stands_outside_a_marked_block(paper):
    told = [
        part
        for block in paper.blocks
        if isinstance(block, Paragraph) and block.style != "reference"
        for part in block.parts
    ]
    loose = [part.text if isinstance(part, Ask) else part for part in told if isinstance(part, str | Ask)]
    assert [text for text in loose if re.search(r"\d", text)] == []
    assert [block.text for block in paper.blocks if isinstance(block, Heading) and re.search(r"\d", block.text)] == []


def test_counts_of_the_tables_are_those_of_the_marts(demo_folder, found, paper):
    """Counted again from the rows themselves, by another way than the analyses take."""
    protocol = read_protocol(demo_folder / "protocol.frozen.toml")
    with open_store(demo_folder / "practice.duckdb", read_only=True) as store:
        take, healing, harm = (
            store.under(protocol).rows(name) for name in ("take", "healing_by_day", "complication_status")
        )
        cases = store.under(protocol).rows("case_list")
    tables = {table.id: table for table in paper.tables}

    primary = take[take["is_primary"] & (take["threshold_pct"] == protocol.take.threshold_pct)]
    dogs = primary[primary["species"] == "dog"]["status"].value_counts()
    row = tables["take"].rows[0]
    assert row[:5] == ("Dogs", str(dogs["sure_yes"] + dogs["sure_no"]), str(dogs["sure_yes"]), str(dogs["sure_no"]),
                       str(dogs["cannot_tell"]))  # fmt: skip
    assert row[5].startswith(f"{round(100 * dogs['sure_yes'] / (dogs['sure_yes'] + dogs['sure_no']))} %")

    grafts = cases[(cases["status"] == "eligible") & cases["is_free_graft"].astype(bool)]
    for species, line in (("dog", 0), ("cat", 2)):
        mine = healing[healing["case_code"].isin(grafts.loc[grafts["species"] == species, "case_code"])]
        for offset, day in enumerate(protocol.healing.days):
            counts = mine.loc[mine["day"] == day, "status"].value_counts()
            printed = tables["healing"].rows[line + offset]
            assert printed[1:5] == (str(day), *(str(counts.get(s, 0)) for s in ("sure_yes", "sure_no", "cannot_tell")))

    cats = harm[(harm["species"] == "cat") & (harm["question"] == "any")]["status"].value_counts()
    row = next(row for row in tables["complications"].rows if row[0] == "Cats: any complication")
    assert row[2:5] == (str(cats["sure_yes"]), str(cats["sure_no"]), str(cats["cannot_tell"]))
    assert len(tables["case-lines"].rows) == int((cases["status"] == "eligible").sum()) == len(found.lines)


def test_every_number_of_tables_and_captions_is_in_some_result(found, paper):
    held = spellings([found.audit, list(found.lines), list(found.log), found.protocol])
    held |= {str(n) for n in range(len(found.lines) + 1)}
    own = {"yardsticks-published", "protocol-terms", "reporting-guide"}
    cells = [cell for table in paper.tables if table.id not in own for row in table.rows for cell in row]
    captions = [figure.caption for figure in paper.figures]
    assert [number for text in (*cells, *captions) for number in numbers(text) if number not in held] == []


def words_of(paper):
    told = [part if isinstance(part, str) else getattr(part, "text", "") for part in paper.inlines]
    told += [cell for table in paper.tables for row in table.rows for cell in row]
    return told + [text for figure in paper.figures for text in (figure.title, figure.caption, figure.description)]


def test_no_case_code_leaves_the_practice(found, paper):
    codes = {line.case_code for line in found.lines}
    assert len(codes) > 50
    assert [text for text in words_of(paper) if any(code in text for code in codes)] == []


def test_words_that_overstate_are_not_there(paper):
    told = words_of(paper)
    assert [text for text in told for word in NEVER if word in text.lower()] == []


def test_tables_and_figures_are_numbered_in_the_order_of_the_text(paper):
    named = [label for part in paper.inlines if (label := paper.labels.get(getattr(part, "target", "")))]
    for kind in ("Table", "Figure"):
        numbers_seen = [int(label.split()[1]) for label in dict.fromkeys(named) if label.startswith(kind)]
        assert numbers_seen == list(range(1, len(numbers_seen) + 1))
        assert len(numbers_seen) >= 6


def test_a_series_chosen_by_outcome_gives_no_share_interval_or_curve(found):
    about = found.protocol.protocol.model_copy(update={"series": "outcome_selected"})
    protocol = found.protocol.model_copy(update={"protocol": about})
    paper = manuscript(replace(found, audit=replace(found.audit, protocol=protocol)))

    results = [
        fact.text for fact in paper.facts if not fact.id.startswith(("method-", "limitation-", "alive-", "core-"))
    ]
    assert [
        text for text in results if "%" in text and not re.fullmatch(r"[\d.]+ %", text) and "Take was" not in text
    ] == []
    listed = {table.id for table in paper.tables} - {
        "protocol-terms",
        "reporting-guide",
        "score-agreement",
        "measure-agreement",
    }
    for table in (table for table in paper.tables if table.id in listed):
        assert [cell for row in table.rows for cell in row if "interval" in cell or re.search(r"\d %", cell)] == []
    assert not {"healing-curve", "healing-ends", "take-by-location"} & {figure.id for figure in paper.figures}
    assert any("chosen for how they ended" in fact.text for fact in paper.facts)

    cases = next(figure for figure in paper.figures if figure.id == "healing-cases")
    shown = {str(label) for scale in cases.plot.scales if "y" in scale.aesthetics for label in scale.labels}
    assert "Dog 1" in shown
    assert not {line.case_code for line in found.lines} & shown


def test_american_spelling_reaches_text_tables_and_figures(found):
    paper = manuscript(found, "american")
    words = " ".join([
        *(part if isinstance(part, str) else getattr(part, "text", "") for part in paper.inlines),
        *(cell for table in paper.tables for row in table.rows for cell in row),
        *(figure.caption + figure.description + figure.title for figure in paper.figures),
    ])  # fmt: skip
    assert "epithelialization" in words
    assert re.findall(r"\b\w*(?:aemat|oedem|umour|olour|alis(?:ed|ation)|entre)\w*", words) == []
    assert not re.search(r"\d %", words)


@pytest.mark.parametrize("name", NAMES)
def test_bad_input_makes_a_plain_manuscript(name, tmp_path):
    """One animal, none healed, one method, all unknown, no scores: said in words, with nothing broken or empty."""
    write_workbook(edge_case(name), tmp_path / "practice.xlsx")
    intake = check_workbook(tmp_path / "practice.xlsx", key=bytes(32))
    with open_store(":memory:", create=True) as store:
        store.load(intake.tables, fingerprint=intake.fingerprint, on=date(2026, 1, 1))
        case_found = evidence(store.under(read_protocol()))
    paper = manuscript(case_found)

    told = [part if isinstance(part, str) else getattr(part, "text", "") for part in paper.inlines]
    told += [cell for table in paper.tables for row in table.rows for cell in row]
    told += [figure.caption + figure.description for figure in paper.figures]
    broken = {"nan", "None", "inf", "NaT", "<NA>", "()"}
    assert [text for text in told if broken & set(text.replace("(", " ").replace(")", " ").split())] == []
    assert {f.id: lost for f in paper.facts if isinstance(f, Fact) and (lost := untraced(case_found, f))} == {}
    assert all(table.rows for table in paper.tables)
