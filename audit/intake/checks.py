"""
The rules that span cells, rows and sheets: their severity, what they say, and what to do.

What each finds stands in `queries/checks`, a file a rule, over the de-identified rows of the file as `incoming_TABLE`.
"""

import datetime as dt
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import pandas as pd

from audit.dictionary import TABLES, THEATRE, table
from audit.engine import over_frames
from audit.intake.deidentify import Calendar, Codes, Rows, case_of
from audit.intake.faults import Fault, Problem, Severity
from audit.intake.identity import same
from audit.intake.rows import Row


@dataclass(frozen=True, slots=True)
class Check:
    """One rule; `{value}` in the sentence stands for what its query tells."""

    name: str
    severity: Severity
    sentence: str
    remedy: str


CHECKS = (
    Check("row_twice", "error", "the same record stands in {value}",
          "Keep one of them, or mend the number, letter or date that tells them apart"),
    Check("numbers_alike", "warning", "this patient number and that of {value} differ only in zeros, spaces or marks",
          "Check that they are two animals"),
    Check("animal_unknown", "error", "the sheet Animals has no such patient number",
          "Add the animal, or mend the number"),
    Check("wound_unknown", "error", "the sheet Wounds has no wound {value} of this animal",
          "Add the wound, or mend the letter"),
    Check("operation_unknown", "error", "the sheet Reconstructions has no such operation ({value})",
          "Add the operation, or mend the patient number, wound letter or operation number"),
    Check("wound_assumed", "error", "the wound letter is blank, and this animal has several wounds", "Say which wound"),
    Check("operation_assumed", "error", "the operation number is blank, and this wound was operated on several times",
          "Say which operation"),
    Check("operations_out_of_order", "error", "operation {value} on this wound", "Mend the dates or the numbers"),
    Check("operation_before_missing", "warning", "operation {value} on this wound",
          "Add the earlier operation if it was done here"),
    Check("days_out_of_order", "error", "{value}, which should be the later one", "Mend one of the two dates"),
    Check("visit_after_death", "error", "the animal was seen on {value}",
          "Mend the date of the contact or of the exit"),
    Check("visit_after_exit", "warning", "there is a contact on {value}", "Move the exit to the end of watching"),
    Check("visits_disagree", "error", "this contradicts {value}",
          "Keep what was seen; if both are right, say in which order by leaving one out"),
    Check("opened_again", "error", "the wound is {value}, and no complication says why",
          "Add a row to Complications for what opened it, or mend the visit"),
    Check("shares_do_not_add", "error", "viable, lost and doubtful make {value}",
          "Let them make 100 %; leave the doubtful share blank if it was not judged"),
    Check("judged_unseen", "error", "take or healing is judged, though the contact was: {value}",
          "Clear what was judged, or say that the graft was seen"),
    Check("healed_by_hearsay", "warning", "healed is told {value}; it does not count as seen healed",
          "Nothing to do; it is kept as told"),
    Check("open_area_disagrees", "error", "these contradict each other: {value}", "Mend one of them"),
    Check("areas_do_not_add", "warning", "graft and uncovered rest do not make the wound: {value}",
          "Check the areas and how they were found"),
    Check("perimeter_too_short", "error", "the perimeter cannot be: {value}",
          "Measure again; check the units, cm and cm2"),
    Check("area_is_product", "warning",
          "the area is that of a rectangle ({value}), about a quarter above a rounded wound",
          "Trace the outline if you can; if not, give 'product lw' as the way the area was found"),
    Check("sutures_disagree", "error", "the sutures and their date do not agree: {value}",
          "Mend the date or what became of the sutures; write not recorded for a date nobody knows"),
    Check("weight_for_species", "error", "{value} cannot be", "Check the weight and the species"),
    Check("age_for_species", "warning", "{value} is unusual", "Check the age; leave it if it is right"),
    Check("wound_beyond_body", "warning", "more than a quarter of the body surface: {value}",
          "Check the area and the weight, and their units"),
    Check("condition_beyond_scale", "error", "the body condition is {value}", "Check the score and its scale"),
    Check("anaesthesia_too_short", "error", "the anaesthesia is shorter than the operation: {value}",
          "Check both times, in minutes"),
    Check("healed_unseen", "warning",
          "the exit says {value}, and no visit saw the wound healed; it counts as not seen healed",
          "Add the visit at which it was seen, or choose another exit"),
    Check("exit_missing", "error", "the operation has no row in Exits",
          "Add one; 'still open at lock' if watching goes on"),
    Check("grade_disagrees", "error", "the grade is {value}",
          "Clear the grade, or give the reason for setting it by hand"),
    Check("loss_was_no_loss", "error", "the exit says {value}", "Give amputation, death or euthanasia as the exit"),
    Check("mesh_without_mesh", "error", "mesh fields are filled for: {value}", "Clear them, or mend the method"),
    Check("more_pieces_than_laid", "error", "the pieces do not fit: {value}", "Count again, or mend the number placed"),
    Check("seen_later_than_said", "warning", "the last professional examination is given as {value}",
          "Give the last day on which somebody saw the animal"),
    Check("take_not_judged", "warning", "the graft was seen and its take is blank",
          "Give the viable share, or write not assessable"),
    Check("depth_of_loss_missing", "warning", "{value}, and no depth of the loss",
          "Say whether only the surface was lost"),
    Check("score_off_scale", "error", "the rating is {value}", "Give a grade of that scale"),
    Check("infection_without_ground", "warning", "{value} without the ground for it", "Say on what it rests"),
    Check("extent_of_loss_missing", "warning", "partial necrosis without its extent", "Give the share lost"),
    Check("operation_after_regraft_missing", "warning",
          "the exit is {value}, and the next operation is not in the file",
          "Add the next operation"),
    Check("not_done_but_seen", "error", "take is judged for an operation that was not done",
          "Mend the method done, or clear the take"),
    Check("round_figures", "warning", "all viable shares are multiples of 10 ({value})",
          "Nothing to do; the report says so. Judge finer if it can be done"),
    Check("surgeons_judge_themselves", "warning", "only the surgeon judged the take in {value} operations",
          "Let somebody else judge too"),
    Check("unknown_in_one_arm", "warning", "free grafts whose take nobody judged: {value}",
          "Look for their visits; a comparison would mislead"),
    Check("species_together", "warning", "the file holds {value}", "Nothing to do; they are summarised apart"),
    Check("theatre_case_absent", "warning", "this planned operation is not among the reconstructions",
          "Add it; if it was not done, with 'not done' as the method done"),
)  # fmt: skip

_PARENTS = {
    "animal_unknown": "animals", "wound_unknown": "wounds", "operation_unknown": "reconstructions",
    "exit_missing": "exits",
}  # fmt: skip
"""Without this sheet every row would be at fault; that it is missing has been said already."""

_BELOW = {each.name for each in TABLES if "operation_number" in each.keys and each.name != "reconstructions"}


def run(rows: Rows, frames: Mapping[str, pd.DataFrame], when: Calendar, codes: Codes) -> Iterator[Fault]:
    """The faults that the rules find among the rows, in the order of the rules."""
    named = {(name, row.number): row for name, group in rows.items() for row in group}
    with over_frames(incoming(rows, frames, when, codes)) as engine:
        findings = {check.name: engine.rows(check.name) for check in CHECKS}
    for check in CHECKS:
        if check.name in _PARENTS and _PARENTS[check.name] not in rows:
            continue
        for sheet, number, field, value in findings[check.name].itertuples(index=False):
            problem = Problem(check.name, check.sentence.format(value=value), check.remedy, check.severity)
            if pd.isna(number):
                yield next(group[0] for name, group in rows.items() if name == sheet and group).layout.place(problem)
                continue
            row = named[sheet, int(number)]
            if check.name in _PARENTS or not _hangs_loose(sheet, row, when):
                yield row.place(problem, table(sheet)[field])


def _hangs_loose(sheet: str, row: Row, when: Calendar) -> bool:
    """True for a row without a dated operation: it has no days, and has been found at fault already."""
    return sheet in _BELOW and case_of(row) not in when.surgery


def incoming(rows: Rows, frames: Mapping[str, pd.DataFrame], when: Calendar, codes: Codes) -> dict[str, pd.DataFrame]:
    """
    The frames that the queries read.

    `incoming_TABLE` has `row_number`, `case_code` where a row belongs to an operation, several words joined by '; ',
    and for operations `clock`, days from the first one of the file. `incoming_theatre_list` has animal and clock,
    `incoming_keys` every row with its keys as text, `incoming_cases` every row that belongs to an operation,
    `incoming_assumed` every key left blank, `incoming_alike` animals whose numbers look alike.
    """
    tables = {f"incoming_{name}": _plain(frame) for name, frame in frames.items()}
    start = min(when.surgery.values(), default=dt.date(2000, 1, 1))
    days = {(code_of(case, codes)): (day - start).days for case, day in when.surgery.items()}
    operations = tables["incoming_reconstructions"]
    operations["clock"] = operations["case_code"].map(days).astype("Int64")
    tables["incoming_theatre_list"] = _typed(
        [(codes("animal", str(row.data["patient_number"])), row.number, (day - start).days)
         for row in rows.get(THEATRE.name, ())
         if isinstance(day := row.data.get("surgery_date"), dt.date) and "patient_number" in row.data],
        {"animal": "string", "row_number": "Int64", "clock": "Int64"},
    )  # fmt: skip
    tables["incoming_keys"] = _typed(
        [(each.name, number, "|".join(map(str, keys)))
         for each in TABLES
         for number, *keys in tables[f"incoming_{each.name}"][["row_number", *each.key_columns]].itertuples(index=False)
        ],
        {"sheet": "string", "row_number": "Int64", "row_key": "string"},
    )  # fmt: skip
    tables["incoming_cases"] = _typed(
        [(name.removeprefix("incoming_"), *row)
         for name, frame in tables.items() if "case_code" in frame and name != "incoming_reconstructions"
         for row in frame[["row_number", "case_code", "wound", "operation"]].itertuples(index=False)],
        {"sheet": "string", "row_number": "Int64", "case_code": "string", "wound": "string", "operation": "Int64"},
    )  # fmt: skip
    tables["incoming_assumed"] = _typed(
        [(name, row.number, codes("animal", case[0]), case[1], field)
         for name, group in rows.items() for row in group for field in sorted(row.assumed) if (case := case_of(row))],
        {"sheet": "string", "row_number": "Int64", "animal": "string", "wound": "string", "field": "string"},
    )  # fmt: skip
    tables["incoming_alike"] = _typed(
        list(_alike(list(rows.get("animals", ())))), {"row_number": "Int64", "other_row": "Int64"}
    )
    return tables


def code_of(case: tuple[str, str, int], codes: Codes) -> str:
    """The case code of an operation."""
    return f"{codes('animal', case[0])}-{case[1]}{case[2]}"


def _plain(frame: pd.DataFrame) -> pd.DataFrame:
    """A frame whose every column has a type that does not depend on which cells are blank."""
    plain = frame.copy()
    for name in plain.select_dtypes("object").columns:
        plain[name] = (
            plain[name].map(lambda value: "; ".join(value) if isinstance(value, list) else value).astype("string")
        )
    if "operation" in plain:
        plain["case_code"] = plain["animal"] + "-" + plain["wound"] + plain["operation"].astype("string")
    return plain


def _typed(records: list[tuple[object, ...]], columns: Mapping[str, str]) -> pd.DataFrame:
    return pd.DataFrame(records, columns=list(columns)).astype(dict(columns))


def _alike(animals: list[Row]) -> Iterator[tuple[int, int]]:
    seen: dict[str, tuple[str, int]] = {}
    for row in animals:
        number = same(str(row.data.get("patient_number", "")))
        bare = re.sub(r"[\W_]", "", number).lstrip("0")
        if not bare:
            continue
        other, other_row = seen.setdefault(bare, (number, row.number))
        if other != number:
            yield row.number, other_row
