"""The workbook to fill: a sheet a table, drop-down lists, notes on every heading, and an example row."""

import datetime as dt
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import xlsxwriter
from xlsxwriter.utility import xl_col_to_name

from audit.codes import ABSENCES
from audit.dictionary import SHEETS, Field, Table
from audit.intake.dates import EARLIEST, LATEST
from audit.intake.keys import MOST_OPERATIONS
from audit.intake.rows import EXAMPLE

SheetRows = Mapping[str, Sequence[Mapping[str, object]]]

_READY_ROWS = 1000
_LISTS = "Lists"
_OPTIONS = {
    "strings_to_formulas": False, "strings_to_urls": False, "strings_to_numbers": False,
    "default_date_format": "yyyy-mm-dd", "nan_inf_to_errors": True,
}  # fmt: skip
_INK, _KEY, _CORE, _MORE, _BAND, _SAMPLE = "#1F2A33", "#24506B", "#3C7A78", "#8A8F86", "#F3F6F5", "#FBF3DC"
_UNITS = {"cm2": "cm²", "d": "days", "a": "years", "1": ""}

_READ_ME = (
    ("How to fill this workbook", ""),
    ("What it is for",
     "A record of skin grafts and flaps in dogs and cats, one sheet for each kind of record, from which "
     "the practice audits its own outcomes."),
    ("What it is not",
     "It gives no clinical advice and does not say how an animal should be treated. Treatment is decided "
     "by the responsible veterinary surgeon, under the law and the rules of the place."),
    ("No names",
     "Write no name, address, telephone number, e-mail address, postcode or microchip number anywhere, in "
     "any column, and no notes that tell who the owner is. Patient numbers and staff codes are replaced by "
     "codes when the workbook is read; dates become days from surgery."),
    ("Order of work",
     "Animals, Wounds and Reconstructions once; a row in Visits for every contact; a row in Complications "
     "when something goes wrong; one row in Exits for every operation when watching ends. Fill only the "
     "sheets that apply, but keep the headings of the others."),
    ("What ties the sheets",
     "Patient number, wound letter (A when there is one wound) and operation number (1 for the first "
     "operation on that wound; grafting again is a new row with the next number)."),
    ("Columns",
     "Those in front are the short card. The others are folded away: press the + above the column "
     "headings. Leave out what you do not record; nothing is refused for it. Rest the pointer on a heading "
     "to read what it means."),
    ("When there is no value",
     "Write which it is: 'not recorded' (nobody wrote it down), 'not applicable' (there is nothing to "
     "record), 'not assessable' (somebody looked and could not tell) or 'refused' (asked, and declined). A "
     "blank cell says only that nobody has filled it yet."),
    ("Several words in a cell", "Where several words may be true, part them with a semicolon: suture; bolster."),
    ("Dates", "As year-month-day, for instance 2024-05-06."),
    ("Seen or told",
     "Say that a wound is healed only when somebody saw it, or saw a good photograph. What was told by "
     "telephone is recorded as such."),
    ("Staff",
     "Results of one colleague rest on few animals and on the cases that he or she was given. They are for "
     "learning, under rules agreed beforehand, never for ranking."),
    ("Photographs",
     "Show the wound and a scale, and no face, collar tag, tattoo, microchip reader or room. Give them a "
     "code for a name, and remove the hidden data on place and time before anybody else sees them."),
    ("Owners",
     "Consent to treatment, to the use of records, to photographs and to publication are four separate "
     "things. Record which were given, outside this workbook, and honour withdrawal."),
    ("Audit or research",
     "Publication, extra procedures, or new questions to owners may need a committee's answer in writing "
     "before records are collected."),
    ("The example row",
     f"The first row of each sheet, with patient number {EXAMPLE}, is invented and is never read. It may be "
     "deleted."),
)  # fmt: skip

_SAMPLE_VALUES: dict[str, object] = {
    "patient_number": EXAMPLE, "wound_letter": "A", "operation_number": 1, "donor_number": 1, "age_years": 4.5,
    "breed": "lurcher", "breed_group": "large", "coat": "short", "comorbidity": ("none",),
    "healing_drug": ("none",), "region": "metatarsus", "side": "left", "length_cm": 8, "width_cm": 5,
    "area_cm2": 31.4, "area_method": "ellipse_from_lw", "wound_date": dt.date(2024, 4, 22), "aspect": "lateral",
    "circumference_pct": 40, "perimeter_cm": 22, "bed_preparation_days": 14, "bed_grade": "g3",
    "earlier_closures": 0, "surgery_date": dt.date(2024, 5, 6), "planned_method": "mesh_full",
    "done_method": "mesh_full", "recipient_bed": "granulating", "graft_area_cm2": 31.4,
    "pieces_placed": "not_applicable", "body_mass_kg": 28.5, "timing": "delayed", "thickness": "full",
    "meshed": "yes", "mesh_expansion": 1.5, "piece_size_mm": "not_applicable", "uncovered_area_cm2": 0, "asa": 2,
    "asa_emergency": "no", "bcs": 5, "bcs_scale": "of_9", "surgery_min": 95, "anaesthesia_min": 130,
    "fixation": ("suture", "bolster"), "npwt_days": 0, "surgeon_code": "S1", "branch_code": "B1",
    "donor_region": "thorax", "donor_side": "left", "suture_out_date": dt.date(2024, 5, 16),
    "last_open_date": dt.date(2024, 5, 13), "first_healed_date": dt.date(2024, 5, 16), "donor_area_cm2": 36,
    "donor_length_cm": 9, "visit_date": dt.date(2024, 5, 16), "contact": "clinic", "viable_pct": 90, "lost_pct": 5,
    "uncertain_pct": 5, "epithelialised": "no", "bandage_changed": "yes", "graft_visible": "yes",
    "loss_depth": "full_thickness", "open_area_cm2": 2.5, "open_perimeter_cm": 7, "graft_outline_cm2": 28,
    "pieces_alive": "not_applicable", "pieces_seen": "not_applicable", "assessor_code": "N2",
    "assessor_role": "nurse", "assessor_operated": "no", "colour": ("pink",), "bandage_state": ("intact",),
    "photo_code": "F17", "next_planned_date": dt.date(2024, 5, 20), "photo_date": dt.date(2024, 8, 12),
    "item": "hair", "value": 3, "rater_code": "N2", "rater_role": "nurse", "order_number": 1, "scale": "hair-v1",
    "is_repeat": "no", "complication": "partial_necrosis", "site": "recipient",
    "first_seen_date": dt.date(2024, 5, 16), "last_free_date": dt.date(2024, 5, 13),
    "resolved_date": dt.date(2024, 6, 3), "action": ("debride_conscious",), "extent_pct": 5,
    "class": "complication", "infection_basis": "not_applicable", "exit_reason": "healed_and_followed",
    "exit_date": dt.date(2024, 8, 12), "last_seen_date": dt.date(2024, 8, 12), "last_contact_mode": "seen",
    "exit_evidence": "seen", "grade": "not_applicable", "grade_reason": "not_applicable",
}  # fmt: skip


def write_template(path: Path, rows: SheetRows | None = None) -> None:
    """
    Write the workbook, blank but for the example rows, or filled with `rows`.

    `rows` are by table name, then field name to value: a date, number, text, True or False, or several words in a list.
    Texts are written as they are, never as formulas or links; allowed codes are written as a person reads them.
    """
    with xlsxwriter.Workbook(str(path), _OPTIONS) as book:
        book.set_properties({"title": "Records of skin grafts and flaps", "created": dt.datetime(2024, 1, 1)})
        formats = _formats(book)
        _read_me(book, formats)
        lists = _Lists(book)
        for table in SHEETS:
            _sheet(book, table, (rows or {}).get(table.name, ()), formats, lists)
        lists.write()


class _Lists:
    """The words behind the drop-downs, a column a list, on a sheet of their own."""

    def __init__(self, book: Any) -> None:
        self._book = book
        self._columns: dict[tuple[str, ...], str] = {}

    def source(self, words: tuple[str, ...]) -> str:
        if words not in self._columns:
            letter = xl_col_to_name(len(self._columns))
            self._columns[words] = f"={_LISTS}!${letter}$1:${letter}${len(words)}"
        return self._columns[words]

    def write(self) -> None:
        sheet = self._book.add_worksheet(_LISTS)
        for position, words in enumerate(self._columns):
            sheet.write_column(0, position, words)
            sheet.set_column(position, position, 24)
        sheet.hide()


def _formats(book: Any) -> dict[str, Any]:
    cell = {"font_name": "Calibri", "font_size": 11, "font_color": _INK, "valign": "vcenter"}
    head = cell | {
        "bold": True,
        "font_color": "#FFFFFF",
        "text_wrap": True,
        "valign": "top",
        "border": 1,
        "border_color": "#FFFFFF",
    }
    sample = cell | {"italic": True, "bg_color": _SAMPLE, "bottom": 1, "bottom_color": _MORE}
    kinds = {
        "text": {"num_format": "@"},
        "date": {"num_format": "yyyy-mm-dd", "align": "left"},
        "number": {"align": "left"},
    }
    made = {kind: book.add_format(cell | more) for kind, more in kinds.items()}
    made |= {f"sample_{kind}": book.add_format(sample | more) for kind, more in kinds.items()}
    made |= {name: book.add_format(head | {"bg_color": colour}) for name, colour in
             (("head_key", _KEY), ("head_core", _CORE), ("head_more", _MORE))}  # fmt: skip
    made["band"] = book.add_format({"bg_color": _BAND})
    made["title"] = book.add_format(cell | {"bold": True, "font_size": 16, "font_color": _KEY})
    made["topic"] = book.add_format(cell | {"bold": True, "valign": "top", "font_color": _KEY, "text_wrap": True})
    made["prose"] = book.add_format(cell | {"text_wrap": True, "valign": "top"})
    return made


def _read_me(book: Any, formats: Mapping[str, Any]) -> None:
    sheet = book.add_worksheet("Read me")
    sheet.hide_gridlines(2)
    sheet.set_column(0, 0, 24)
    sheet.set_column(1, 1, 92)
    sheet.write_string(0, 0, _READ_ME[0][0], formats["title"])
    sheet.set_row(0, 30)
    lines = [*_READ_ME[1:], *((table.title, f"{table.grain[:1].upper()}{table.grain[1:]}.") for table in SHEETS)]
    for row, (topic, prose) in enumerate(lines, start=2):
        sheet.write_string(row, 0, topic, formats["topic"])
        sheet.write_string(row, 1, prose, formats["prose"])
        sheet.set_row(row, 16 * (1 + len(prose) // 98) + 4)
    sheet.set_portrait()
    sheet.set_paper(9)
    sheet.fit_to_pages(1, 0)


def in_order(table: Table) -> tuple[Field, ...]:
    """The fields as the sheet shows them: the core first."""
    return (*table.core, *(field for field in table.fields if not field.core))


def _sheet(
    book: Any, table: Table, rows: Sequence[Mapping[str, object]], formats: Mapping[str, Any], lists: _Lists
) -> None:
    sheet = book.add_worksheet(table.title)
    fields = in_order(table)
    filled = [{field.name: _sample(field) for field in fields}, *rows]
    last = max(_READY_ROWS, len(filled))
    for column, field in enumerate(fields):
        kind = _kind(field)
        folded_away = {} if field.core else {"level": 1, "hidden": True}
        sheet.set_column(column, column, _width(field), formats[kind], folded_away)
        head = "head_key" if field.kind == "key" else "head_core" if field.core else "head_more"
        sheet.write_string(0, column, field.heading, formats[head])
        sheet.write_comment(0, column, note(field), {"x_scale": 2.2, "y_scale": _note_height(field), "font_size": 9})
        sheet.data_validation(1, column, last, column, _validation(field, lists))
        for row, values in enumerate(filled, start=1):
            _write(sheet, row, column, field, values.get(field.name), formats[f"sample_{kind}" if row == 1 else kind])
    if len(fields) > len(table.core):
        sheet.set_column(len(fields), len(fields), 3, None, {"collapsed": True})
    sheet.set_row(0, 48)
    sheet.conditional_format(
        2, 0, last, len(fields) - 1, {"type": "formula", "criteria": "=MOD(ROW(),2)=0", "format": formats["band"]}
    )
    sheet.freeze_panes(1, min(3, sum(field.kind == "key" for field in fields)))
    sheet.set_landscape()
    sheet.set_paper(9)
    sheet.repeat_rows(0)
    sheet.fit_to_pages(1, 0)
    sheet.set_tab_color(_MORE if table.name == "theatre_list" else _CORE)


def _kind(field: Field) -> str:
    if field.kind == "date":
        return "date"
    return (
        "number" if field.kind in ("whole", "number") or field.name in ("operation_number", "donor_number") else "text"
    )


def _width(field: Field) -> float:
    longest = max((len(word) for word in field.heading.split()), default=0)
    words = max((len(word) for word in field.words), default=0)
    return min(
        30,
        max(
            12 if field.kind == "key" else 16,
            longest + 3,
            len(field.heading) / 2 + 3,
            words + 2,
            13 if field.kind == "date" else 0,
        ),
    )


def unit(field: Field) -> str:
    """The unit as it is printed; empty for a pure number."""
    return "" if field.kind == "date" else _UNITS.get(field.unit, field.unit)


def note(field: Field) -> str:
    """What rests behind a heading: the term, unit, range, words, and why it is asked."""
    lines = [field.term[:1].upper() + field.term[1:]]
    if field.kind == "date":
        lines.append("Date, as yyyy-mm-dd")
    elif field.low is not None and field.high is not None:
        lines.append(f"From {field.low:g} to {field.high:g} {unit(field)}".strip())
    if field.kind == "codes":
        lines.append(
            "Several words may stand here, parted by semicolons: " + ", ".join(w.replace("_", " ") for w in field.words)
        )
    lines += [f"{code.name.replace('_', ' ')}: {code.label}" for code in field.codes
              if field.kind == "code" and code.label != code.name.replace("_", " ")]  # fmt: skip
    if field.default:
        lines.append(f"Blank means {field.default}")
    lines.append(f"Why: {field.why}")
    return "\n".join(lines)


def _note_height(field: Field) -> float:
    return max(0.8, sum(1 + len(line) // 44 for line in note(field).split("\n")) * 0.21)


def _sample(field: Field) -> object:
    if field.name in _SAMPLE_VALUES:
        return _SAMPLE_VALUES[field.name]
    return field.words[0] if field.codes else "not_recorded"


def _validation(field: Field, lists: _Lists) -> dict[str, object]:
    absences = () if field.kind == "key" else tuple(code.name.replace("_", " ") for code in ABSENCES)
    words = tuple(word.replace("_", " ") for word in field.words)
    if words:
        several = field.kind == "codes"
        return {"validate": "list", "source": lists.source(words + absences), "show_error": not several,
                "error_title": field.heading, "error_message": "Choose a word from the list."}  # fmt: skip
    gentle = {"error_type": "warning", "error_title": field.heading}
    if field.kind == "date":
        message = "A date is due, as yyyy-mm-dd, or a word such as: not recorded."
        return gentle | _between("date", EARLIEST, LATEST, message)
    if field.kind in ("whole", "number"):
        whole = "integer" if field.kind == "whole" else "decimal"
        message = (
            f"A number from {field.low:g} to {field.high:g} {unit(field)} is due, or a word such as: not recorded."
        )
        return gentle | _between(whole, field.low, field.high, message)
    if _kind(field) == "number":
        return gentle | _between("integer", 1, MOST_OPERATIONS, "Count 1, 2, 3.")
    message = "A short number or code is due, no name."
    return gentle | {"validate": "length", "criteria": "<=", "value": 40, "error_message": message}


def _between(kind: str, low: object, high: object, message: str) -> dict[str, object]:
    return {"validate": kind, "criteria": "between", "minimum": low, "maximum": high, "error_message": message}


def _write(sheet: Any, row: int, column: int, field: Field, value: object, look: Any) -> None:
    if isinstance(value, bool):
        value = "yes" if value else "no"
    if isinstance(value, list | tuple):
        value = "; ".join(_as_read(field, str(word)) for word in value)
    if value is None or value == "":
        sheet.write_blank(row, column, None, look) if row == 1 else None
    elif isinstance(value, dt.datetime | dt.date):
        sheet.write_datetime(row, column, value, look)
    elif isinstance(value, int | float):
        sheet.write_number(row, column, value, look)
    else:
        sheet.write_string(row, column, _as_read(field, str(value)), look)


def _as_read(field: Field, word: str) -> str:
    known = word in field.words or any(word == code.name for code in ABSENCES)
    return word.replace("_", " ") if known else word
