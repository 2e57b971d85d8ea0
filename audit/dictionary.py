"""
Every table, field, code, unit and range that is asked for, and why.

The workbook template, the checks, the schema of the store and the printed data dictionary are made from this module.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from dataclasses import fields as fields_of
from typing import Any, Literal

from audit import codes as c
from audit.codes import Code, Group

Kind = Literal["key", "code", "codes", "yes_no", "whole", "number", "date", "token"]
Identity = Literal["none", "animal", "staff", "photo", "date"]
StoreType = Literal["pseudonym", "letter", "word", "words", "yes_no", "whole", "number", "day", "month"]
"""What a column of the store holds; `day` counts from surgery."""

_STORE_TYPES: dict[Kind, StoreType] = {
    "token": "pseudonym", "code": "word", "codes": "words", "yes_no": "yes_no", "whole": "whole", "number": "number",
    "date": "day",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Field:
    """
    One column of a sheet.

    `core` columns stand first; `must` columns may not be blank. `low`/`high` are plausible (outside is a fault),
    `warn` is unusual (outside is a warning). `identity` tells what becomes of the value when it is read: an animal, staff
    or photo value becomes a keyed pseudonym, a date becomes days from surgery. `stored` is the column of the store
    where it is not the field's name, and `store_type` what it holds where the kind of the field does not tell.
    """

    name: str
    term: str
    kind: Kind
    why: str
    unit: str = ""
    codes: tuple[Code, ...] = ()
    low: float | None = None
    high: float | None = None
    warn: tuple[float, float] | None = None
    core: bool = False
    must: bool = False
    wanted: bool = False
    identity: Identity = "none"
    default: str = ""
    stored: str = ""
    store_type: StoreType | None = None

    @property
    def kept_as(self) -> StoreType:
        """What the column of the store holds."""
        return self.store_type or _STORE_TYPES[self.kind]

    @property
    def heading(self) -> str:
        """The column heading of the template."""
        return self.name.replace("_pct", " %").replace("_", " ").capitalize()

    @property
    def column(self) -> str:
        """The column of the store: a pseudonym or a day count where the sheet has a name or a date."""
        if self.stored:
            return self.stored
        return self.name.removesuffix("_date") + "_day" if self.kind == "date" else self.name

    @property
    def words(self) -> tuple[str, ...]:
        """The allowed codes, in order."""
        return tuple(code.name for code in self.codes)


@dataclass(frozen=True, slots=True)
class Table:
    """One sheet of the workbook and one table of the store; `keys` name its row."""

    name: str
    title: str
    grain: str
    keys: tuple[str, ...]
    fields: tuple[Field, ...]

    def __getitem__(self, name: str) -> Field:
        for field in self.fields:
            if name in (field.name, field.column):
                return field
        raise KeyError(name)

    @property
    def core(self) -> tuple[Field, ...]:
        """The columns that stand first."""
        return tuple(field for field in self.fields if field.core)

    @property
    def key_columns(self) -> tuple[str, ...]:
        """The columns of the store that name a row."""
        return tuple(self[name].column for name in self.keys)


def _code(name: str, term: str, codes: tuple[Code, ...], why: str, **more: object) -> Field:
    return Field(name, term, "code", why, codes=codes, **more)  # type: ignore[arg-type]


def _codes(name: str, term: str, codes: tuple[Code, ...], why: str, **more: object) -> Field:
    return Field(name, term, "codes", why, codes=codes, **more)  # type: ignore[arg-type]


def _yes_no(name: str, term: str, why: str, **more: object) -> Field:
    return Field(name, term, "yes_no", why, codes=c.YES_NO, **more)  # type: ignore[arg-type]


def _number(name: str, term: str, unit: str, low: float, high: float, why: str, **more: object) -> Field:
    return Field(name, term, "number", why, unit=unit, low=low, high=high, **more)  # type: ignore[arg-type]


def _whole(name: str, term: str, unit: str, low: float, high: float, why: str, **more: object) -> Field:
    return Field(name, term, "whole", why, unit=unit, low=low, high=high, **more)  # type: ignore[arg-type]


def _date(name: str, term: str, why: str, low: float = 0, high: float = 3650, **more: object) -> Field:
    return Field(name, term, "date", why, unit="d", low=low, high=high, identity="date", **more)  # type: ignore[arg-type]


MOST = 20
"""More operations on a wound, or donor sites of a graft, than this are a slip in typing."""

PATIENT = Field(
    "patient_number", "patient number", "key", "ties the sheets together; replaced by a code at the door",
    core=True, must=True, identity="animal", stored="animal", store_type="pseudonym",
)  # fmt: skip
WOUND = Field(
    "wound_letter", "wound letter", "key", "an animal may have several wounds; A when there is only one",
    core=True, default="A", stored="wound", store_type="letter",
)  # fmt: skip
OPERATION = Field(
    "operation_number", "operation number on this wound", "key", "a re-graft is a new row; 1 when there is only one",
    low=1, high=MOST, core=True, default="1", stored="operation", store_type="whole",
)  # fmt: skip
RECONSTRUCTION_KEY = ("patient_number", "wound_letter", "operation_number")
_THREE = (PATIENT, WOUND, OPERATION)

ANIMALS = Table("animals", "Animals", "one row an animal", ("patient_number",), (
    PATIENT,
    _code("species", "species", c.SPECIES, "cats and dogs do not take alike; never pooled silently", core=True, must=True),
    _number("age_years", "age at surgery", "a", 0.1, 25, "healing, other disease", core=True),
    _code("sex", "sex", c.SEX, "signalment", core=True),
    _code("neutered", "neuter status", c.NEUTERED, "signalment", core=True),
    _code("breed", "breed", c.BREED, "coat and skin", wanted=True),
    _code("breed_group", "size class", c.BREED_GROUP, "shared instead of the breed", wanted=True),
    _code("coat", "coat", c.COAT, "hair regrowth", wanted=True),
    _codes("comorbidity", "other disease", c.COMORBIDITY, "effect on healing"),
    _codes("healing_drug", "drugs that affect healing", c.HEALING_DRUG, "effect on healing"),
))  # fmt: skip

WOUNDS = Table("wounds", "Wounds", "one row a wound", ("patient_number", "wound_letter"), (
    PATIENT, WOUND,
    _code("region", "body region", c.REGION, "take is read by location", core=True, must=True),
    _code("side", "side", c.SIDE, "tells wounds apart", core=True),
    _code("cause", "cause of the wound", c.CAUSE, "the strongest confounder, with size and site", core=True),
    _number("length_cm", "longest axis", "cm", 0.2, 60, "size", core=True),
    _number("width_cm", "widest across it", "cm", 0.2, 60, "size", core=True),
    _number("area_cm2", "wound area before surgery", "cm2", 0.1, 1500, "baseline for everything", core=True),
    _code("area_method", "how the area was found", c.AREA_METHOD, "methods differ and are never mixed", core=True),
    _date("wound_date", "date of injury or excision", "wound age", low=-3650, high=0),
    _code("wound_date_precision", "how well that date is known", c.DATE_PRECISION, "wound age"),
    _code("aspect", "aspect", c.ASPECT, "location"),
    _yes_no("over_joint", "crosses a joint", "motion, contracture"),
    _number("circumference_pct", "share of limb circumference lost", "%", 0, 100, "second intention or not", wanted=True),
    _number("perimeter_cm", "perimeter before surgery", "cm", 0.5, 300, "linear healing", wanted=True),
    _codes("depth_exposed", "structures exposed", c.DEPTH_EXPOSED, "quality of the bed"),
    _code("contamination", "wound class at surgery", c.CONTAMINATION, "infection risk"),
    _yes_no("culture_taken", "culture taken", "stewardship", wanted=True),
    _code("culture_result", "culture result", c.CULTURE, "stewardship", wanted=True),
    _code("resistance", "resistance found", c.RESISTANCE, "stewardship", wanted=True),
    _whole("bed_preparation_days", "open-wound management before surgery", "d", 0, 365, "delayed or at once"),
    _code("bed_grade", "granulation bed", c.BED_GRADE, "readiness"),
    _whole("earlier_closures", "failed closures before", "1", 0, 6, "referral selection"),
    _yes_no("irradiated", "irradiated field", "a reason to fail", wanted=True),
))  # fmt: skip

RECONSTRUCTIONS = Table("reconstructions", "Reconstructions", "one row an operation; a re-graft is a new row", RECONSTRUCTION_KEY, (
    *_THREE,
    Field("surgery_date", "day 0", "date", "time origin; kept as month and running order", core=True, must=True,
          identity="date", stored="surgery_month", store_type="month"),
    _code("planned_method", "method planned", c.METHOD, "planned and done are compared", core=True),
    _code("done_method", "method done", c.METHOD, "what was done", core=True, must=True),
    _code("recipient_bed", "recipient bed", c.RECIPIENT_BED, "changes the expected take", core=True),
    _number("graft_area_cm2", "area of graft as laid", "cm2", 0.1, 1500, "denominator of take", core=True),
    _whole("pieces_placed", "pieces placed", "1", 1, 300, "take of piece grafts", core=True),
    _number("body_mass_kg", "body weight", "kg", 0.5, 110, "flap complications", core=True),
    _code("timing", "timing", c.TIMING, "at once, delayed or staged"),
    _code("thickness", "graft thickness", c.THICKNESS, "take, hair"),
    _yes_no("meshed", "meshed", "drainage"),
    _number("mesh_expansion", "expansion ratio of the mesh", "1", 1, 6, "open spaces count as open area"),
    _number("piece_size_mm", "piece diameter, width or side", "mm", 3, 30, "piece grafts"),
    _code("method_word", "the surgeon's own word for a punch graft", c.METHOD_WORD, "authors differ", wanted=True),
    _number("uncovered_area_cm2", "defect left uncovered", "cm2", 0, 1500, "denominator"),
    _number("flap_length_cm", "flap length", "cm", 0.5, 80, "distal necrosis"),
    _number("flap_width_cm", "flap width", "cm", 0.5, 60, "distal necrosis"),
    _code("flap_supply", "artery of the flap", c.ARTERY, "distal necrosis"),
    _codes("fixation", "fixation", c.FIXATION, "movement of the graft", wanted=True),
    _code("drain", "drain", c.DRAIN, "fluid under the graft", wanted=True),
    _whole("npwt_days", "negative-pressure wound therapy after surgery", "d", 0, 21, "fluid under the graft", wanted=True),
    _code("immobilisation", "immobilisation", c.IMMOBILISATION, "movement of the graft"),
    _whole("asa", "ASA physical status", "1", 1, 5, "fitness"),
    _yes_no("asa_emergency", "ASA emergency", "fitness"),
    _whole("bcs", "body condition score", "1", 1, 9, "nutrition"),
    _code("bcs_scale", "points of that score", c.BCS_SCALE, "nutrition"),
    _whole("surgery_min", "surgical time", "min", 5, 600, "infection", wanted=True),
    _whole("anaesthesia_min", "anaesthetic time", "min", 5, 900, "infection", wanted=True),
    _yes_no("prophylaxis", "antimicrobial prophylaxis", "stewardship"),
    _whole("prophylaxis_min", "prophylaxis, minutes from first cut", "min", -120, 120, "stewardship"),
    _whole("antimicrobial_days", "antimicrobial days after surgery", "d", 0, 60, "stewardship"),
    _code("antimicrobial", "antimicrobial class", c.ANTIMICROBIAL, "stewardship"),
    Field("surgeon_code", "surgeon", "token", "learning curve; never reported by name", wanted=True, identity="staff"),
    _code("surgeon_level", "surgeon's level", c.SURGEON_LEVEL, "learning curve", wanted=True),
    _yes_no("supervisor_present", "supervisor present", "learning curve", wanted=True),
    Field("branch_code", "practice or branch", "token", "several branches", identity="staff"),
))  # fmt: skip

DONOR_SITES = Table("donor_sites", "Donor sites", "one row a harvest site", (*RECONSTRUCTION_KEY, "donor_number"), (
    *_THREE,
    Field("donor_number", "donor site number", "key", "a graft may have several donor sites", low=1, high=MOST, core=True,
          default="1", stored="donor", store_type="whole"),
    _code("donor_region", "donor region", c.REGION, "donor audit", core=True),
    _code("donor_side", "side", c.SIDE, "donor audit", core=True),
    _code("donor_closure", "closure of the donor site", c.DONOR_CLOSURE, "decides if a suture date exists", core=True),
    _code("suture_state", "what became of the sutures", c.SUTURE_STATE, "absorbable ones leave the denominator", core=True),
    _date("suture_out_date", "sutures out", "rule of thumb: day 7 to 10", high=60, warn=(3, 28), core=True),
    _date("last_open_date", "last seen not healed", "donor healing is an interval too"),
    _date("first_healed_date", "first seen healed", "donor healing is an interval too"),
    _number("donor_area_cm2", "donor area", "cm2", 0.1, 1500, "burden grows with size", wanted=True),
    _number("donor_length_cm", "donor length", "cm", 0.2, 60, "burden grows with size", wanted=True),
))  # fmt: skip

VISITS = Table("visits", "Visits", "one row a contact", (*RECONSTRUCTION_KEY, "visit_date", "contact"), (
    *_THREE,
    _date("visit_date", "date of the contact", "the ends of the intervals", core=True, must=True),
    _code("contact", "how", c.CONTACT, "a telephone call cannot establish healing", core=True),
    _yes_no("bandage_changed", "bandage changed", "burden", core=True),
    _yes_no("graft_visible", "graft seen", "a change with the primary layer left on is no assessment", core=True),
    _number("viable_pct", "viable, of the current outline", "%", 0, 100, "take", core=True),
    _number("lost_pct", "lost, of the current outline", "%", 0, 100, "take", core=True),
    _code("epithelialised", "complete epithelialisation", c.YES_NO, "healing", core=True),
    _number("uncertain_pct", "doubtful, of the current outline", "%", 0, 100, "take as an interval"),
    _code("loss_depth", "depth of the loss", c.LOSS_DEPTH, "superficial slough is not graft loss"),
    _number("open_area_cm2", "open area", "cm2", 0, 1500, "healing"),
    _number("open_perimeter_cm", "perimeter of the open area", "cm", 0, 300, "linear healing"),
    _number("graft_outline_cm2", "graft area now", "cm2", 0, 1500, "contraction", wanted=True),
    _whole("pieces_alive", "pieces alive", "1", 0, 300, "take of piece grafts"),
    _whole("pieces_seen", "pieces seen", "1", 0, 300, "take of piece grafts"),
    _code("scheduled", "planned or prompted", c.SCHEDULED, "prompted visits follow trouble"),
    Field("assessor_code", "assessor", "token", "agreement; never reported by name", identity="staff"),
    _code("assessor_role", "assessor's role", c.ASSESSOR_ROLE, "who judged"),
    _yes_no("assessor_operated", "the assessor operated", "judging one's own graft"),
    _codes("bandage_state", "state of the bandage", c.BANDAGE_STATE, "process"),
    _code("sedation", "sedation", c.SEDATION, "burden", wanted=True),
    _code("collar", "collar worn", c.COLLAR, "self-trauma", wanted=True),
    _code("exudate", "discharge", c.EXUDATE, "course", wanted=True),
    _code("exudate_amount", "amount of discharge", c.AMOUNT, "course", wanted=True),
    _code("adherence", "adherence", c.ADHERENCE, "how grafts fail", wanted=True),
    _code("fluid_under", "fluid under the graft", c.FLUID_UNDER, "how grafts fail", wanted=True),
    _codes("colour", "colour of the graft", c.COLOUR, "course", wanted=True),
    _yes_no("systemic_antimicrobial", "on systemic antimicrobials", "stewardship", wanted=True),
    Field("photo_code", "photograph", "token", "blinded rating; replaced by a code", wanted=True, identity="photo"),
    _yes_no("photo_scale", "scale in the photograph", "blinded rating", wanted=True),
    _code("photo_view", "view", c.PHOTO_VIEW, "blinded rating", wanted=True),
    _date("next_planned_date", "next visit planned", "overdue visits", wanted=True),
))  # fmt: skip

SCORES = Table(
    "scores", "Scores", "one row a rating of one item by one rater",
    (*RECONSTRUCTION_KEY, "photo_date", "item", "rater_code", "is_repeat"), (
    *_THREE,
    _date("photo_date", "date of the photograph or look", "hair is judged from day 90", core=True, must=True),
    _code("item", "what was rated", c.SCORE_ITEM, "what was rated", core=True, must=True),
    _number("value", "grade or value", "1", 0, 1500, "the rating", core=True),
    Field("rater_code", "rater", "token", "agreement; never reported by name", core=True, identity="staff"),
    _code("rater_role", "rater's role", c.RATER_ROLE, "who judged", core=True),
    _yes_no("blinded_to_method", "rater blind to the method", "bias", core=True),
    _code("clipped", "coat at the rating", c.CLIPPED, "clipped hair reads as sparse", core=True),
    _code("scale", "scale and version", c.SCALE, "anchors may change"),
    _yes_no("blinded_to_day", "rater blind to the day", "bias"),
    _whole("order_number", "place in the rating order", "1", 1, 100000, "order effects"),
    Field("is_repeat", "hidden repeat reading", "yes_no", "agreement of a rater with himself", codes=c.YES_NO, default="no"),
    _code("confidence", "confidence", c.CONFIDENCE, "agreement"),
))  # fmt: skip

COMPLICATIONS = Table(
    "complications", "Complications", "one row a complication",
    (*RECONSTRUCTION_KEY, "complication", "site", "first_seen_date"), (
    *_THREE,
    _code("complication", "complication", c.COMPLICATION, "what went wrong", core=True, must=True),
    _code("site", "where", c.COMPLICATION_SITE, "recipient and donor are counted apart", core=True, must=True),
    _date("first_seen_date", "first seen", "by day 30 or later", core=True, must=True),
    _codes("action", "treatment given", c.ACTION, "the grade is derived from it", core=True),
    _number("extent_pct", "extent of loss", "%", 0, 100, "2 % and 53 % are both partial necrosis", core=True),
    _date("last_free_date", "last seen without it", "onset is an interval too"),
    _code("class", "class", c.COMPLICATION_CLASS, "sequelae are counted apart", stored="complication_class"),
    _code("grade", "grade set by hand", c.GRADE, "overrides the derived grade, with a reason"),
    _code("grade_reason", "why the grade was set by hand", c.GRADE_REASON, "an override needs a reason"),
    _codes("infection_basis", "infection: on what ground", c.INFECTION_BASIS, "surveillance definition"),
    _code("related", "related to the operation", c.RELATED, "cause", wanted=True),
    _date("resolved_date", "resolved", "burden", wanted=True),
))  # fmt: skip

EXITS = Table("exits", "Exits", "exactly one row an operation", RECONSTRUCTION_KEY, (
    *_THREE,
    _code("exit_reason", "why the record ends", c.EXIT_REASON, "competing exits", core=True, must=True),
    _date("exit_date", "date of that", "event or end of watching", core=True, must=True),
    _date("last_seen_date", "last professional look", "healing is censored there", core=True),
    _code("last_contact_mode", "last contact", c.CONTACT_MODE, "strength of evidence", core=True),
    _code("exit_evidence", "evidence", c.EXIT_EVIDENCE, "`assumed` is no evidence", core=True),
))  # fmt: skip

THEATRE = Table("theatre_list", "Theatre list", "one row a planned operation; used only to find missing cases",
    ("patient_number", "surgery_date"), (
    PATIENT,
    Field("surgery_date", "date in the theatre list", "date", "cases absent from the file are found", core=True, must=True,
          identity="date", stored="surgery_month", store_type="month"),
))  # fmt: skip


@dataclass(frozen=True, slots=True)
class Derived:
    """A whole-number column that the intake works out from the dates before it drops them."""

    name: str
    why: str


DERIVED: dict[str, tuple[Derived, ...]] = {
    "reconstructions": (
        Derived("running_order", "place among the operations of the same month, 1 first"),
        Derived("clock_day", "days from the first operation on this wound to this one, 0 for the first"),
    ),
}
"""Columns of the store that no sheet has."""

TABLES = (ANIMALS, WOUNDS, RECONSTRUCTIONS, DONOR_SITES, VISITS, SCORES, COMPLICATIONS, EXITS)
"""The tables of the store, parents first. The theatre list is read from a workbook but never stored."""

SHEETS = (*TABLES, THEATRE)

REFUSED = {
    "client": "client name", "owner": "owner", "surname": "surname", "first_name": "first name", "address": "address",
    "street": "street", "postcode": "postcode", "phone": "telephone", "telephone": "telephone", "mobile": "telephone",
    "email": "e-mail", "e_mail": "e-mail", "microchip": "microchip", "chip": "microchip", "passport": "passport",
    "animal_name": "animal name", "pet_name": "animal name", "patient_name": "animal name",
}  # fmt: skip
"""Column headings (as stored names) that identify a person or animal: a sheet with one is refused."""


def table(name: str) -> Table:
    """
    The table of that name.

    >>> table("visits").key_columns
    ('animal', 'wound', 'operation', 'visit_day', 'contact')
    """
    for each in SHEETS:
        if each.name == name:
            return each
    raise KeyError(name)


def fields() -> Iterator[tuple[Table, Field]]:
    """Every field of the store with its table."""
    for each in TABLES:
        for field in each.fields:
            yield each, field


Rows = tuple[str, list[tuple[Any, ...]]]
"""A table for queries: its columns as SQL, and its rows."""


def code_rows() -> Rows:
    """Every code of every field of the store, with its label, its group, and what `codes` says holds of the two."""
    groups = {group.name: group for _, listed in c.GROUPS for group in listed}
    own, shared = _facts(Code, skip=3), _facts(Group, skip=2)
    columns = ("field varchar", "code varchar", "label varchar", "grouping varchar", *own.values(), *shared.values())
    return ", ".join(columns), [
        (
            field.name, code.name, code.label, code.group or None, *(getattr(code, name) for name in own),
            *(getattr(groups[code.group], name) if code.group else None for name in shared),
        )
        for _, field in fields() for code in field.codes
    ]  # fmt: skip


def species_rows() -> Rows:
    """Every species in the order in which they are reported, with what is unlikely of it."""
    return "species varchar, place integer, plural varchar, unusual_age double, heaviest_kg double", [
        (each.name, place, each.plural, each.unusual_age, each.heaviest_kg) for place, each in enumerate(c.SPECIES)
    ]


def _facts(kind: type[Code | Group], skip: int) -> dict[str, str]:
    """The facts that a code or group has beside its names, each as a column in SQL."""
    return {
        each.name: f"{each.name} {'boolean' if each.type in (bool, 'bool') else 'integer'}"
        for each in fields_of(kind)[skip:]
    }
