"""Invented animals and wounds: what goes with what (breed, weight, method, site), so that rows look believable."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

# Breed: size class, coat, lightest and heaviest in kg. Rough figures of common knowledge, to make rows look likely.
BREEDS: dict[str, dict[str, tuple[str, str, float, float]]] = {
    "dog": {
        "crossbreed": ("medium", "short", 8, 28),
        "labrador_retriever": ("large", "double", 25, 38),
        "golden_retriever": ("large", "long", 26, 36),
        "german_shepherd": ("large", "double", 26, 40),
        "boxer": ("large", "short", 25, 33),
        "staffordshire_bull_terrier": ("medium", "short", 12, 18),
        "springer_spaniel": ("medium", "long", 17, 25),
        "border_collie": ("medium", "double", 15, 22),
        "jack_russell_terrier": ("small", "short", 5, 9),
        "dachshund": ("small", "short", 6, 10),
        "poodle": ("small", "curly", 5, 9),
        "chihuahua": ("toy", "short", 1.8, 3.5),
        "yorkshire_terrier": ("toy", "long", 2.2, 4),
        "greyhound": ("large", "short", 26, 36),
        "rottweiler": ("giant", "short", 40, 55),
    },
    "cat": {
        "domestic_shorthair": ("cat_short_coat", "short", 3, 5.8),
        "domestic_longhair": ("cat_long_coat", "long", 3.2, 6),
        "british_shorthair": ("cat_short_coat", "short", 4, 6.5),
        "maine_coon": ("cat_long_coat", "long", 4.8, 7.8),
        "siamese": ("cat_short_coat", "short", 2.8, 4.8),
    },
}
_FEET = ("antebrachium", "carpus", "metacarpus", "tarsus", "metatarsus", "crus")
_TRUNK = ("thorax", "flank", "abdomen", "neck", "thigh")
_SITES = {
    "pad_segmental": ("pad_metacarpal_or_metatarsal",),
    "flap_fold": ("elbow", "thorax", "flank", "stifle"),
    "flap_distant_direct": _FEET,
    "flap_digital_fillet": ("metacarpus", "metatarsus", "digit"),
    "flap_free_microvascular": ("crus", "tarsus"),
    "flap_subdermal_advancement": _TRUNK,
    "flap_subdermal_rotation": ("head", "perineum", "thigh", "neck"),
    "flap_subdermal_transposition": ("elbow", "flank", "thigh", "head"),
    "flap_myocutaneous": ("brachium", "thorax"),
    "primary_closure": (*_TRUNK, "head"),
}
ARTERIES = {
    "elbow": "thoracodorsal", "brachium": "thoracodorsal", "antebrachium": "superficial_brachial",
    "stifle": "caudal_superficial_epigastric", "thigh": "deep_circumflex_iliac", "flank": "deep_circumflex_iliac",
    "crus": "genicular", "tarsus": "reverse_saphenous", "neck": "omocervical", "head": "caudal_auricular",
    "perineum": "lateral_caudal",
}  # fmt: skip
_CAUSES = {
    "dog": ("degloving_or_shear", "road_traffic_other", "tumour_excision", "tumour_excision", "bite", "dehiscence",
            "burn_thermal", "laceration", "chronic_nonhealing", "infection_or_necrotising"),
    "cat": ("degloving_or_shear", "degloving_or_shear", "road_traffic_other", "bite", "laceration", "dehiscence",
            "chronic_nonhealing"),
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Signalment:
    """One invented animal."""

    species: str
    breed: str
    size: str
    coat: str
    mass_kg: float
    age_years: float


@dataclass(frozen=True, slots=True)
class Wound:
    """One invented wound: two axes in cm, its true area in cm2 taken as an ellipse, and the days since injury."""

    region: str
    side: str
    cause: str
    length_cm: float
    width_cm: float
    area_cm2: float
    age_days: int
    bed: str


def pick(rng: np.random.Generator, words: Sequence[str]) -> str:
    """One of the words, each as likely; name a word twice to make it twice as likely."""
    return words[int(rng.integers(len(words)))]


def draw_animal(rng: np.random.Generator, species: str) -> Signalment:
    """An animal of that species whose weight and coat go with its breed."""
    common = "domestic_shorthair" if species == "cat" else "crossbreed"
    breed = common if rng.random() < 0.4 else pick(rng, list(BREEDS[species]))
    size, coat, lightest, heaviest = BREEDS[species][breed]
    return Signalment(
        species, breed, size, coat, round(rng.uniform(lightest, heaviest), 1), round(0.6 + 13 * rng.beta(1.5, 2), 1)
    )


def draw_wound(rng: np.random.Generator, animal: Signalment, method: str) -> Wound:
    """A wound of that animal at a site where the method is used; grafts mostly lie on distal limbs."""
    sites = _SITES.get(method)
    if sites is None:
        sites = tuple(ARTERIES) if method == "flap_axial" else _FEET if rng.random() < 0.75 else _TRUNK
    region = pick(rng, sites)
    cause = pick(rng, _CAUSES[animal.species])
    scale = min(animal.mass_kg, 35) ** (1 / 3) * (
        1.25 if region in _FEET else 0.45 if region.startswith("pad") else 1.8
    )
    width = round(max(0.8, scale * rng.uniform(0.7, 1.6)), 1)
    length = round(width * rng.uniform(1.15, 2.2), 1)
    fresh = cause == "tumour_excision" or rng.random() < 0.15
    bed = "granulating" if not fresh else "fresh_surgical" if cause == "tumour_excision" else "fresh_traumatic"
    if cause == "chronic_nonhealing":
        bed = "chronic_excised_back"
    age = 0 if bed == "fresh_surgical" else int(rng.integers(0, 3)) if fresh else int(rng.integers(6, 40))
    side = "midline" if region in ("neck", "head", "perineum", "abdomen") else pick(rng, ("left", "right"))
    return Wound(region, side, cause, length, width, round(np.pi / 4 * length * width, 1), age, bed)
