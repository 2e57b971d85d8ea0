"""
Published series whose denominators disagree inside their own abstract, entered so that the missing one stays unknown.

Read in the abstract only. Each animal or graft that leaves the authors' denominator unmentioned has a record here and
no answer, so that the audit has to say that it cannot tell. What is filled in is listed in `ASSUMED`:

- Field 2015: which species had complications, their kind and days, the body regions, who the unknown animal was;
- Pope 1985: four grafts a dog, one of each method, their thickness, and which grafts passed. Takes are entered as the
  bounds that the abstract gives (90 % or more; less than that), and no single percentage is made up.
"""

from dataclasses import dataclass
from typing import Literal

from entered import ASSUMED_OF_ALL, NA, NOT_RECORDED, READ, Operation, Series, on, protocol_text, rows_of

FIELD_ANIMALS = {"dog": 49, "cat": 24}
FIELD_WITH, FIELD_WITHOUT = 64, 8
FIELD_PRINTED_PCT = 89
FIELD_GRADES = {"excellent": 16, "good": 29, "fair": 21, "poor": 5}
FIELD_GRADES_PRINTED_PCT = {"excellent": 23, "good": 41, "fair": 30, "poor": 7}
POPE_DOGS, POPE_PLACED, POPE_PASSED, POPE_PRINTED_PCT = 12, 48, 30, 64
POPE_KNOWN = 47  # not printed: what 30 and 64 % leave

_FIELD_BY_SPECIES = {"dog": ("with",) * 43 + ("without",) * 5 + ("unknown",), "cat": ("with",) * 21 + ("without",) * 3}
_POPE_METHODS = ("sheet_full", "sheet_full", "sheet_full", "mesh_full")

ASSUMED = {
    "field_2015": (
        *ASSUMED_OF_ALL,
        "43 of the dogs and 21 of the cats had a complication, and the unknown animal was a dog: the abstract gives 49 "
        "dogs and 24 cats, and complications of both together; only sums over the two may be read",
        "a complication was of kind `other`, at the recipient site, first seen on day 10, its treatment not recorded; "
        "animals without one were last seen on day 30, the unknown one never; every other record ends on its last day",
        "all flaps lay on the thorax",
        "each record ends as `lost before healing`, since healing is not printed by animal",
    ),
    "pope_1985": (
        *ASSUMED_OF_ALL,
        "each of the twelve dogs had one sheet, one suction, one pie-crust and one mesh graft, the first three entered "
        "as sheets, all of full thickness, on four wounds of the thorax; which of them reached 90 % is not told: "
        "they are dealt out evenly over dogs and methods, so no interval and no method may be read, only the sums",
        "a graft of 90 % or more is entered as 90 % alive and 10 % doubtful, another as 0 % alive, 89 % doubtful and "
        "11 % lost: only the threshold of 90 % may be read",
        "the graft that is in no denominator was not looked at",
        "each record ends as `lost before healing` on day 10",
    ),
}  # fmt: skip
"""What had to be filled in, by name of the series."""


@dataclass(frozen=True, slots=True)
class Disagreement:
    """Two counts of one abstract that a reader takes for one denominator; `counted` is what its figures add up to."""

    source: str
    kind: Literal["left_out", "two_units"]
    began: int
    counted: int
    sentence: str


DISAGREEMENTS = (
    Disagreement(
        "Field 2015", "left_out", 73, 72,
        "The abstract begins with 73 animals, and 64 with and 8 without complications are 72: one is not accounted "
        "for, and its 89 % is of 72.",
    ),
    Disagreement(
        "Field 2015", "left_out", 73, 71,
        "The abstract begins with 73 animals, and the graded outcomes (16, 29, 21 and 5) are 71: two were not graded, "
        "and its percentages of outcome have another denominator than that of complications.",
    ),
    Disagreement(
        "Pope 1985", "left_out", 48, 47,
        "48 grafts were placed, and 30 of 48 would be 62 or 63 %, where the abstract prints 64 %: that is 30 of 47, "
        "so one graft is not accounted for.",
    ),
    Disagreement(
        "Nolff 2015", "two_units", 10, 6,
        "Take is counted in 10 grafts and hair in 6 cats, one of which had half of the grafts: the two are no parts "
        "of one denominator, and ten grafts are not ten independent results.",
    ),
    Disagreement(
        "Jones 2019", "two_units", 92, 73,
        "Complications are counted in 92 operations on 73 animals, and the abstract makes no allowance for animals "
        "that stand in it more than once.",
    ),
)  # fmt: skip
"""Where a paper's own counts are of different denominators, as far as the abstract shows."""


def field_2015() -> Series:
    """Field EJ and others. J Small Anim Pract 2015;56:698-706: axial pattern flaps in 73 animals."""
    trouble = {"complication": "other", "site": "recipient", "extent_pct": NA}
    last = {"with": 10, "without": 30, "unknown": 0}
    operations = []
    for species, known in _FIELD_BY_SPECIES.items():
        for number, status in enumerate(known, start=1):
            operations.append(
                Operation(
                    f"F{species}{number}", species, "flap_axial", "thorax", ends_on=last[status],
                    exit_as={"last_seen_date": on(last[status])},
                    troubles=((10, trouble),) if status == "with" else (),
                )
            )  # fmt: skip
    return Series(
        "field_2015",
        f"Field EJ and others. J Small Anim Pract 2015;56:698-706 ({READ})",
        rows_of(operations),
        protocol_text(
            "Field and others 2015", "Any complication", "dog or cat, axial pattern flap", threshold=75, also=()
        ),
        ASSUMED["field_2015"],
    )


def pope_1985() -> Series:
    """Pope ER. Am J Vet Res 1985;46:2530-2535: 48 experimental grafts on twelve dogs, read on day 10."""
    passed = {"graft_visible": "yes", "viable_pct": 90, "uncertain_pct": 10, "lost_pct": 0, "loss_depth": "none"}
    failed = {"graft_visible": "yes", "viable_pct": 0, "uncertain_pct": 89, "lost_pct": 11, "loss_depth": NOT_RECORDED}
    answers = [passed] * POPE_PASSED + [failed] * (POPE_KNOWN - POPE_PASSED) + [None] * (POPE_PLACED - POPE_KNOWN)
    operations = []
    for place, answer in enumerate(answers):  # dealt out: a graft to each dog in turn, the method moving on
        dog, nth = place % POPE_DOGS, (place + place // POPE_DOGS) % len(_POPE_METHODS)
        look = ((10, answer),) if answer else ()
        operations.append(
            Operation(f"P{dog + 1}", "dog", _POPE_METHODS[nth], "thorax", "ABCD"[nth], ends_on=10, looks=look)
        )
    return Series(
        "pope_1985",
        f"Pope ER. Am J Vet Res 1985;46:2530-2535 ({READ})",
        rows_of(operations),
        protocol_text(
            "Pope 1985", "Nine tenths or more of the graft alive on day 10", "dog, experimental graft on the thorax",
            threshold=90, also=(),
        ),
        ASSUMED["pope_1985"],
    )  # fmt: skip
