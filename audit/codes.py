"""The closed lists behind the drop-downs: code, words for a reader, and the group it is counted in."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Code:
    """One allowed word. `label` is printed; `group` is the broader class that the audit counts it in."""

    name: str
    label: str
    group: str = ""


def _plain(*names: str) -> tuple[Code, ...]:
    return tuple(Code(name, name.replace("_", " ")) for name in names)


def _grouped(**groups: str) -> tuple[Code, ...]:
    return tuple(Code(name, name.replace("_", " "), group) for group, names in groups.items() for name in names.split())


ABSENCES = (
    Code("not_recorded", "not recorded", "missing"),
    Code("not_applicable", "does not apply", "no value due"),
    Code("not_assessable", "looked at, could not be judged", "answered"),
    Code("refused", "asked, refused", "answered"),
)
"""Words that may stand in any cell instead of a value: four different facts, none of them blank."""

YES_NO = (Code("yes", "yes"), Code("no", "no"))

SPECIES = (Code("dog", "dog"), Code("cat", "cat"))
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
    Code("hair", "hair cover", "0-4"), Code("look_edge", "look: edge", "0-3"), Code("look_level", "look: level", "0-3"),
    Code("look_tone", "look: skin tone", "0-3"), Code("look_pull", "look: pull", "0-3"),
    Code("look_surface", "look: surface", "0-3"), Code("use", "limb use", "0-3"),
    Code("look_owner", "look, owner's mark", "0-10"), Code("viable_pct", "viable, percent", "0-100"),
    Code("open_area", "open area, cm2", "0-1500"),
)  # fmt: skip
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
ACTION = _grouped(
    minor="none bandage_change topical",
    major="antimicrobial drainage debride_conscious debride_sedated re_suture re_graft flap",
    catastrophic="amputation euthanasia",
)
GRADE = (
    Code("minor", "minor", "1"), Code("major", "major", "2"), Code("catastrophic", "catastrophic", "3"),
)  # fmt: skip
GRADE_REASON = _plain("unacceptable_limb_use", "related_death", "clinician_judgement")
INFECTION_BASIS = _plain(
    "purulent_discharge", "culture_positive_with_signs", "opened_with_signs", "clinician_diagnosis"
)
RELATED = _plain("definite", "probable", "unlikely", "unknown")

EXIT_REASON = (
    Code("healed_and_followed", "healed and followed", "followed"), Code("healed_then_lost", "healed, then lost", "lost"),
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
CONTACT_MODE = _plain("seen", "photo", "other_vet", "owner_phone")
EXIT_EVIDENCE = _plain("seen", "photo", "other_vet_report", "owner_report")
