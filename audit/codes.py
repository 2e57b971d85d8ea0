"""The closed lists behind the drop-downs: code, words for a reader, the group it is counted in, and what holds of it."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Code:
    """
    One allowed word. `label` is printed; `group` is the broader class that the audit counts it in.

    `rank` of a grade: the higher the worse. `is_healed` of an exit: it says that the wound had healed.
    `is_re_operation` of a treatment: the wound was grafted again or covered by a flap. `grades` of an item rated:
    how many grades it has, from 0; None for a mark or a measure. `is_measured` of an item rated: a measurement, which
    is due at any time, where grades and marks wait for the hair.
    """

    name: str
    label: str
    group: str = ""
    rank: int | None = None
    is_healed: bool = False
    is_re_operation: bool = False
    grades: int | None = None
    is_measured: bool = False


@dataclass(frozen=True, slots=True)
class Species(Code):
    """
    A species: its plural, and what is unlikely of it (common practice, no source).

    Older than `unusual_age` years is unusual; heavier than `heaviest_kg` cannot be, None where the range of the field
    is the limit.
    """

    plural: str = ""
    unusual_age: float = 0
    heaviest_kg: float | None = None


@dataclass(frozen=True, slots=True)
class Group:
    """
    A class that codes are counted in; `words` name its cases in print, the name itself where it has none.

    Of a method: `is_free_graft`, skin moved without its blood supply, so that take is asked of it; `may_be_meshed`,
    mesh fields may be filled. Of a region: `is_distal`, below elbow or stifle. Of a contact: `is_examination`, the
    wound itself was seen, in person or on a photograph.

    Of an exit: `ends_graft`, nothing more can be learnt about this graft; `ends_wound`, nor about any other on the
    wound; `is_failure`, the graft or its wound ended the case, which counts as neither taken nor healed, where an end
    that has nothing to do with it only stops the clock; `is_limb_or_life_lost`, a catastrophic complication by itself;
    `is_death`, the animal died of whatever cause.
    """

    name: str
    words: str = ""
    is_free_graft: bool = False
    may_be_meshed: bool = False
    is_distal: bool = False
    is_examination: bool = False
    ends_graft: bool = False
    ends_wound: bool = False
    is_failure: bool = False
    is_limb_or_life_lost: bool = False
    is_death: bool = False

    @property
    def label(self) -> str:
        """The words of the group in print."""
        return self.words or self.name.replace("_", " ")


def _plain(*names: str) -> tuple[Code, ...]:
    return tuple(Code(name, name.replace("_", " ")) for name in names)


def _grouped(**groups: str) -> tuple[Code, ...]:
    return tuple(Code(name, name.replace("_", " "), group) for group, names in groups.items() for name in names.split())


def _groups(*names: str) -> tuple[Group, ...]:
    return tuple(map(Group, names))


ABSENCES = (
    Code("not_recorded", "not recorded", "missing"),
    Code("not_applicable", "does not apply", "no value due"),
    Code("not_assessable", "looked at, could not be judged", "answered"),
    Code("refused", "asked, refused", "answered"),
)
"""Words that may stand in any cell instead of a value: four different facts, none of them blank."""

YES_NO = (Code("yes", "yes"), Code("no", "no"))

SPECIES = (
    Species("dog", "dog", plural="dogs", unusual_age=18),
    Species("cat", "cat", plural="cats", unusual_age=22, heaviest_kg=15),
)
"""In the order in which they are reported; they are never pooled."""
SEX = _plain("male", "female", "unknown")
NEUTERED = _plain("entire", "neutered", "unknown")
BREED = (
    *_grouped(
        dog="crossbreed beagle border_collie boxer bulldog cavalier_king_charles_spaniel chihuahua cocker_spaniel "
        "dachshund dalmatian dobermann french_bulldog german_shepherd german_shorthaired_pointer golden_retriever "
        "great_dane greyhound husky jack_russell_terrier labrador_retriever lurcher miniature_schnauzer "
        "newfoundland poodle pug rhodesian_ridgeback rottweiler schnauzer shih_tzu springer_spaniel "
        "staffordshire_bull_terrier vizsla weimaraner west_highland_white_terrier whippet yorkshire_terrier other_dog",
        cat="domestic_shorthair domestic_longhair abyssinian bengal birman british_shorthair burmese devon_rex "
        "maine_coon norwegian_forest persian ragdoll russian_blue siamese sphynx other_cat",
    ),
)
BREED_GROUP = _plain("toy", "small", "medium", "large", "giant", "cat_short_coat", "cat_long_coat")
COAT = _plain("short", "double", "long", "curly", "hairless")
COMORBIDITY = _plain(
    "none", "diabetes_mellitus", "hyperadrenocorticism", "hypothyroidism", "chronic_kidney_disease", "hepatic",
    "cardiac", "neoplasia", "atopy_or_pyoderma", "fiv", "felv", "protein_loss", "other",
)  # fmt: skip
HEALING_DRUG = _plain("none", "corticosteroid", "cytotoxic", "other_immunosuppressant", "nsaid", "other")

CAUSE = _grouped(
    trauma="degloving_or_shear bite road_traffic_other laceration",
    burn="burn_thermal burn_chemical burn_electrical",
    tumour="tumour_excision",
    breakdown="dehiscence pressure_sore extravasation_or_envenomation infection_or_necrotising chronic_nonhealing",
    other="scar_or_contracture_revision congenital other",
)
REGION = (
    *_grouped(
        head_and_neck="head ear neck",
        trunk="thorax abdomen flank perineum tail",
        upper_limb="brachium elbow thigh stifle",
        distal_limb="antebrachium carpus metacarpus crus tarsus metatarsus digit",
        foot_pad="pad_digital pad_metacarpal_or_metatarsal pad_carpal",
    ),
)
REGION_GROUPS = (
    Group("head_and_neck"), Group("trunk"), Group("upper_limb"), Group("distal_limb", is_distal=True),
    Group("foot_pad", is_distal=True),
)  # fmt: skip
SIDE = _plain("left", "right", "midline")
ASPECT = (
    Code("dorsal_or_cranial", "dorsal or cranial"), Code("palmar_plantar_or_caudal", "palmar, plantar or caudal"),
    Code("medial", "medial"), Code("lateral", "lateral"), Code("circumferential", "all the way round"),
)  # fmt: skip
DATE_PRECISION = _plain("day", "month", "unknown")
AREA_METHOD = (
    Code("tracing_grid", "tracing counted on a grid"), Code("photo_with_scale", "photograph with a scale"),
    Code("ellipse_from_lw", "ellipse from length and width"), Code("product_lw", "length times width"),
    Code("visual", "by eye"),
)  # fmt: skip
DEPTH_EXPOSED = _plain("none", "fascia", "muscle", "tendon", "bone", "joint", "implant")
CONTAMINATION = _plain("clean", "clean_contaminated", "contaminated", "dirty_or_infected")
CULTURE = _plain(
    "no_growth", "staphylococcus", "streptococcus", "enterococcus", "pseudomonas", "escherichia_coli",
    "other_gram_negative", "anaerobe", "mixed", "other",
)  # fmt: skip
RESISTANCE = (
    Code("none", "none found"), Code("multi_drug", "resistant to several drugs"), Code("not_tested", "not tested"),
)  # fmt: skip
BED_GRADE = (
    Code("g0", "no granulation, or necrotic"), Code("g1", "thin or pale, edge static"),
    Code("g2", "red and level, edge static"), Code("g3", "red and level, edge creeping in"),
)  # fmt: skip

METHOD = (
    Code("strip", "strip graft", "piece_graft"), Code("punch", "punch graft", "piece_graft"),
    Code("stamp", "stamp graft", "piece_graft"), Code("pad_segmental", "segmental pad graft", "piece_graft"),
    Code("mesh_full", "mesh graft, full thickness", "mesh_graft"),
    Code("mesh_split", "mesh graft, split thickness", "mesh_graft"),
    Code("sheet_full", "sheet graft, full thickness", "sheet_graft"),
    Code("sheet_split", "sheet graft, split thickness", "sheet_graft"),
    Code("flap_subdermal_advancement", "advancement flap", "flap"),
    Code("flap_subdermal_rotation", "rotation flap", "flap"),
    Code("flap_subdermal_transposition", "transposition flap", "flap"),
    Code("flap_fold", "axillary or inguinal fold flap", "flap"), Code("flap_distant_direct", "distant direct flap", "flap"),
    Code("flap_axial", "axial pattern flap", "flap"), Code("flap_digital_fillet", "digital fillet flap", "flap"),
    Code("flap_myocutaneous", "myocutaneous flap", "flap"),
    Code("flap_free_microvascular", "free flap with vessel repair", "flap"),
    Code("primary_closure", "primary closure", "closure"), Code("second_intention", "second intention", "no_graft"),
    Code("combined", "combined methods", "combined"), Code("not_done", "planned, then not done", "not_done"),
)  # fmt: skip
METHOD_GROUPS = (
    Group("piece_graft", "piece grafts", is_free_graft=True),
    Group("mesh_graft", "mesh grafts", is_free_graft=True, may_be_meshed=True),
    Group("sheet_graft", "sheet grafts", is_free_graft=True), Group("flap", "flaps"), Group("closure", "closures"),
    Group("no_graft", "second intention"), Group("combined", "combined methods", may_be_meshed=True), Group("not_done"),
)  # fmt: skip
FREE_GRAFTS = tuple(group.name for group in METHOD_GROUPS if group.is_free_graft)
METHOD_WORD = _plain("punch", "pinch", "seed")
ARTERY = _plain(
    "thoracodorsal", "superficial_brachial", "omocervical", "caudal_superficial_epigastric",
    "cranial_superficial_epigastric", "deep_circumflex_iliac", "genicular", "reverse_saphenous", "caudal_auricular",
    "superficial_temporal", "lateral_thoracic", "lateral_caudal", "subdermal", "other",
)  # fmt: skip
THICKNESS = _plain("full", "split_thin", "split_intermediate", "split_thick")
RECIPIENT_BED = _plain("fresh_surgical", "fresh_traumatic", "granulating", "chronic_excised_back")
TIMING = _plain("immediate", "delayed", "staged")
FIXATION = _plain("suture", "staple", "tacking", "glue", "bolster", "none")
DRAIN = _plain("none", "passive", "closed_suction")
IMMOBILISATION = (
    Code("none", "none"), Code("soft_bandage", "soft bandage"), Code("splint", "splint"),
    Code("bivalved_cast", "bivalved cast"), Code("external_fixator", "external skeletal fixator"),
)  # fmt: skip
BCS_SCALE = (Code("of_9", "nine points"), Code("of_5", "five points"))
ANTIMICROBIAL = _plain(
    "none", "penicillin", "potentiated_penicillin", "cephalosporin", "fluoroquinolone", "clindamycin",
    "potentiated_sulphonamide", "tetracycline", "other",
)  # fmt: skip
SURGEON_LEVEL = _plain("specialist", "resident", "intern", "general_practitioner")

DONOR_CLOSURE = _plain("primary", "local_flap", "left_open")
SUTURE_STATE = (
    Code("all_out", "all taken out", "removable"), Code("partial", "some taken out", "removable"),
    Code("staples_out", "staples taken out", "removable"),
    Code("removed_by_animal", "taken out by the animal", "removable"),
    Code("absorbable", "absorbable, none to take out", "none_to_remove"),
    Code("none_placed", "none placed", "none_to_remove"),
)  # fmt: skip

CONTACT = (
    Code("inpatient", "in hospital", "seen"), Code("clinic", "at the clinic", "seen"),
    Code("home_visit", "at home", "seen"), Code("owner_photo", "photograph from the owner", "picture"),
    Code("phone", "by telephone", "told"), Code("other_practice_report", "report of another practice", "told"),
)  # fmt: skip
CONTACT_GROUPS = (Group("seen", is_examination=True), Group("picture", is_examination=True), Group("told"))
SCHEDULED = _plain("scheduled", "prompted", "opportunistic")
ASSESSOR_ROLE = _plain("surgeon", "resident", "nurse", "independent")
BANDAGE_STATE = _plain("intact", "slipped", "wet", "soiled", "removed_by_animal", "too_tight", "none")
SEDATION = (Code("none", "none"), Code("sedation", "sedation"), Code("anaesthesia", "general anaesthesia"))
COLLAR = _plain("always", "mostly", "sometimes", "no", "unknown")
LOSS_DEPTH = _plain("none", "epidermal_only", "full_thickness", "mixed")
EXUDATE = _plain("none", "serous", "serosanguineous", "purulent")
AMOUNT = _plain("none", "low", "moderate", "high")
ADHERENCE = _plain("firm", "partial", "loose")
FLUID_UNDER = _plain("none", "serum", "blood", "pus")
COLOUR = _plain("pink", "red", "pale", "dusky_blue", "black", "yellow_slough")
PHOTO_VIEW = _plain("whole_graft", "close", "donor", "other")

SCORE_ITEM = (
    Code("hair", "hair cover", "0-4", grades=5), Code("look_edge", "look: edge", "0-3", grades=4),
    Code("look_level", "look: level", "0-3", grades=4), Code("look_tone", "look: skin tone", "0-3", grades=4),
    Code("look_pull", "look: pull", "0-3", grades=4), Code("look_surface", "look: surface", "0-3", grades=4),
    Code("use", "limb use", "0-3", grades=4), Code("look_owner", "look, owner's mark", "0-10"),
    Code("viable_pct", "viable, percent", "0-100", is_measured=True),
    Code("open_area", "open area, cm2", "0-1500", is_measured=True),
)  # fmt: skip
"""The group of an item is its scale, lowest to highest."""
SCALE = _plain("hair-v1", "look-v1", "use-v1", "owner-v1", "measure-v1")
RATER_ROLE = _plain("surgeon", "other_vet", "nurse", "owner", "student")
CLIPPED = (Code("unclipped", "coat not clipped for six weeks"), Code("clipped", "coat clipped"))
CONFIDENCE = _plain("sure", "unsure")

COMPLICATION = (
    Code("partial_necrosis", "partial necrosis", "graft_loss"), Code("complete_necrosis", "complete necrosis", "graft_loss"),
    Code("graft_shear", "graft sheared off", "graft_loss"), Code("epidermal_slough", "epidermal slough", "wound"),
    Code("infection_superficial", "superficial infection", "infection"), Code("infection_deep", "deep infection", "infection"),
    Code("abscess", "abscess", "infection"), Code("seroma", "seroma", "fluid"), Code("haematoma", "haematoma", "fluid"),
    Code("dehiscence_edge", "dehiscence of the edge", "wound"), Code("dehiscence_major", "major dehiscence", "wound"),
    Code("oedema", "oedema", "wound"), Code("congestion", "congestion", "wound"), Code("self_trauma", "self-trauma", "wound"),
    Code("bandage_injury", "injury by the bandage", "wound"), Code("contracture", "contracture", "late"),
    Code("joint_stiffness", "stiff joint", "late"), Code("inclusion_cyst", "inclusion cyst", "late"),
    Code("epidermal_breakdown_late", "late epidermal breakdown", "late"),
    Code("hyperkeratosis_pad", "hyperkeratosis of the pad", "late"), Code("anaesthetic", "anaesthetic complication", "general"),
    Code("systemic", "systemic illness", "general"), Code("death", "death", "general"), Code("other", "other", "general"),
    Code("hair_mismatch", "hair does not match", "not_a_complication"),
    Code("tumour_recurrence", "tumour came back", "not_a_complication"),
)  # fmt: skip
COMPLICATION_SITE = _plain("recipient", "donor", "pedicle", "bandage", "systemic")
COMPLICATION_CLASS = _plain("complication", "expected_sequela", "failure_to_cure")
ACTION = (
    *_grouped(
        minor="none bandage_change topical",
        major="antimicrobial drainage debride_conscious debride_sedated re_suture",
    ),
    Code("re_graft", "re graft", "major", is_re_operation=True), Code("flap", "flap", "major", is_re_operation=True),
    *_grouped(catastrophic="amputation euthanasia"),
)  # fmt: skip
"""The group of a treatment is the grade that it gives."""
GRADE = (
    Code("minor", "minor", rank=1), Code("major", "major", rank=2), Code("catastrophic", "catastrophic", rank=3),
)  # fmt: skip
GRADE_REASON = _plain("unacceptable_limb_use", "related_death", "clinician_judgement")
INFECTION_BASIS = _plain(
    "purulent_discharge", "culture_positive_with_signs", "opened_with_signs", "clinician_diagnosis"
)
RELATED = _plain("definite", "probable", "unlikely", "unknown")

EXIT_REASON = (
    Code("healed_and_followed", "healed and followed", "followed", is_healed=True),
    Code("healed_then_lost", "healed, then lost", "lost", is_healed=True),
    Code("lost_before_healing", "lost before healing", "lost"), Code("died_unrelated", "died, unrelated", "died_unrelated"),
    Code("died_related", "died, related", "died_related"), Code("euthanased_wound", "euthanased for the wound", "died_related"),
    Code("euthanased_other", "euthanased, other reason", "died_unrelated"),
    Code("euthanased_financial", "euthanased for cost", "euthanased_cost"),
    Code("amputated_wound", "amputated for the wound", "amputated_wound"),
    Code("amputated_other", "amputated, other reason", "amputated_other"),
    Code("re_grafted", "grafted again", "re_operated"), Code("converted_other_method", "changed to another method", "re_operated"),
    Code("transferred_care", "care transferred", "lost"), Code("consent_withdrawn", "consent withdrawn", "lost"),
    Code("still_open_at_lock", "still open at the data lock", "still_open"),
)  # fmt: skip
EXIT_GROUPS = (
    Group("re_operated", "operated again", ends_graft=True, is_failure=True),
    Group("amputated_wound", "amputated for the wound", ends_graft=True, ends_wound=True, is_failure=True,
          is_limb_or_life_lost=True),
    Group("died_related", "died, related", ends_graft=True, ends_wound=True, is_failure=True, is_limb_or_life_lost=True,
          is_death=True),
    Group("euthanased_cost", "euthanased for cost", ends_graft=True, ends_wound=True, is_failure=True, is_death=True),
    Group("amputated_other", "amputated, other reason", ends_graft=True, ends_wound=True),
    Group("died_unrelated", "died, unrelated", ends_graft=True, ends_wound=True, is_death=True),
    Group("followed"), Group("lost"), Group("still_open"),
)  # fmt: skip
CONTACT_MODE = _plain("seen", "photo", "other_vet", "owner_phone")
EXIT_EVIDENCE = _plain("seen", "photo", "other_vet_report", "owner_report")

GROUPS = (
    (ABSENCES, _groups("missing", "no value due", "answered")),
    (BREED, _groups(*(species.name for species in SPECIES))),
    (CAUSE, _groups("trauma", "burn", "tumour", "breakdown", "other")),
    (REGION, REGION_GROUPS),
    (METHOD, METHOD_GROUPS),
    (SUTURE_STATE, _groups("removable", "none_to_remove")),
    (CONTACT, CONTACT_GROUPS),
    (SCORE_ITEM, _groups("0-4", "0-3", "0-10", "0-100", "0-1500")),
    (COMPLICATION, _groups("graft_loss", "wound", "infection", "fluid", "late", "general", "not_a_complication")),
    (ACTION, _groups(*(grade.name for grade in GRADE))),
    (EXIT_REASON, EXIT_GROUPS),
)
"""Every list whose codes are counted in groups, with all of its groups, in the order in which they are reported."""
