"""
Three published series whose single values stand in the abstract, entered as a practice would enter its own cases.

All were read in the abstract only. Every value that is not printed there and that the intake or the protocol needs is
a stand-in, listed in `ASSUMED` by series and in `ASSUMED_OF_ALL` for all of them. In short:

- dates, the day on which take was read (10), body regions, and how a record ends are stand-ins in all three;
- Nolff 2015: which graft was whose beyond "one cat had five", meshing, and when and how hair was graded;
- Vishwasrao 2017: full thickness, and that a rejected graft had nothing alive;
- Tong 2012: how much of the surface was lost in the four dogs with superficial necrosis; no count depends on it.

Nothing is entered of healing or complications, since the abstracts do not give them by animal: there the audit has to
answer that it cannot tell.
"""

from collections.abc import Sequence

from entered import ASSUMED_OF_ALL, READ, Operation, Series, protocol_text, rows_of

TAKE_DAY, HAIR_DAY = 10, 90

NOLFF_TAKES = (100, 100, 100, 100, 100, 100, 100, 95, 95, 80)
NOLFF_HAIR = ("normal", "normal", "normal", "normal", "sparse", "none")
HAIR_GRADES = {"normal": 4, "sparse": 2, "none": 0}
VISHWASRAO_TAKES = (100, 100, 100, 100, 100, 100, 100, 50, 50, 30, 0)
TONG_SURVIVAL = ("complete",) * 3 + ("epidermal necrosis",) * 4
TONG_REGIONS = ("antebrachium",) * 6 + ("tarsus",)

_READ_ON_10 = "take was read on day 10, at the clinic; the abstract does not say when"
_ENDS = "each record ends as `lost before healing` on its last day, since healing is not printed by animal"
_REST_LOST = "what was not alive was lost; no doubtful part is printed, and no depth of the loss"

ASSUMED = {
    "nolff_2015": (
        *ASSUMED_OF_ALL, _READ_ON_10, _REST_LOST, _ENDS,
        "the cat with five grafts had five wounds operated on the same day, and its grafts have the first five takes "
        "of the list; counts by graft do not depend on this, but their intervals (which allow for cats) and counts by "
        "the first graft of each cat do, except at a threshold that all ten grafts reach",
        "the grafts were meshed (only full thickness is told) and lay on the metatarsus",
        "hair was graded on day 90, in unclipped coat, on the first graft of each cat; normal, sparse and none stand "
        "as grades 4, 2 and 0, and which cat had which is arbitrary",
    ),
    "vishwasrao_2017": (
        *ASSUMED_OF_ALL, _READ_ON_10, _REST_LOST, _ENDS,
        "the graft called rejected had 0 % alive",
        "the meshes were of full thickness, and all lay on the antebrachium (the abstract says head and limbs, without "
        "which dog)",
    ),
    "tong_simpson_2012": (
        *ASSUMED_OF_ALL, _READ_ON_10, _ENDS,
        "a graft that survived completely had 100 % alive",
        "half of the surface was lost in the four grafts with superficial epidermal necrosis; any share gives the same "
        "take, as the loss is of the epidermis only",
        "the dog grafted at the tarsus or metatarsus is entered at the tarsus, and has the last of the seven values",
        "the necrosis is entered as what was seen, not as complications; follow-up of 6 to 49 months is left out, as "
        "with it a blank sheet of complications would read as none",
    ),
}  # fmt: skip
"""What had to be filled in, by name of the series."""


def _seen(viable: float, *, depth: str | None = None) -> dict[str, object]:
    row: dict[str, object] = {"graft_visible": "yes", "viable_pct": viable, "lost_pct": 100 - viable}
    return row | {"loss_depth": depth or ("none" if viable == 100 else "not_recorded")}


def nolff_2015(takes: Sequence[int] = NOLFF_TAKES) -> Series:
    """
    Nolff MC, Meyer-Lindenberg A. J Feline Med Surg 2015;17:1041-1048: ten grafts in six cats, one of which had five.

    The cat with five is given the first five `takes`.
    """
    owners = [("N1", wound) for wound in "ABCDE"] + [(f"N{cat}", "A") for cat in range(2, 7)]
    hair = {f"N{cat}": word for cat, word in enumerate(NOLFF_HAIR, start=1)}
    operations = [
        Operation(
            cat, "cat", "mesh_full", "metatarsus", wound, HAIR_DAY,
            done_as={"recipient_bed": "granulating", "timing": "delayed", "thickness": "full", "npwt_days": 3},
            looks=((TAKE_DAY, _seen(take)),),
            grades=((HAIR_DAY, {"item": "hair", "value": HAIR_GRADES[hair[cat]], "clipped": "unclipped"}),)
            if wound == "A" else (),
        )
        for (cat, wound), take in zip(owners, takes, strict=True)
    ]  # fmt: skip
    return Series(
        "nolff_2015",
        f"Nolff MC, Meyer-Lindenberg A. J Feline Med Surg 2015;17:1041-1048 ({READ})",
        rows_of(operations),
        protocol_text(
            "Nolff and Meyer-Lindenberg 2015", "Three quarters or more of the graft alive",
            "cat, full-thickness graft on granulation with negative-pressure therapy", threshold=75, also=(95, 100),
        ),
        ASSUMED["nolff_2015"],
    )  # fmt: skip


def vishwasrao_2017() -> Series:
    """Vishwasrao S. World Small Animal Veterinary Association proceedings 2017: mesh grafts in eleven dogs."""
    operations = [
        Operation(f"V{dog}", "dog", "mesh_full", "antebrachium", ends_on=TAKE_DAY, looks=((TAKE_DAY, _seen(take)),))
        for dog, take in enumerate(VISHWASRAO_TAKES, start=1)
    ]
    return Series(
        "vishwasrao_2017",
        f"Vishwasrao S. World Small Animal Veterinary Association proceedings 2017 ({READ})",
        rows_of(operations),
        protocol_text(
            "Vishwasrao 2017", "Three quarters or more of the graft alive", "dog, mesh graft on head or limb",
            threshold=75, also=(50, 100),
        ),
        ASSUMED["vishwasrao_2017"],
    )  # fmt: skip


def tong_simpson_2012(*, surface_lost: int = 50, depth: str = "epidermal_only") -> Series:
    """
    Tong T, Simpson DJ. J Small Anim Pract 2012;53:520-525: mesh grafts at tumour resection in seven dogs.

    `surface_lost` percent of four grafts was lost, to that depth; other depths show what confusing them would do.
    """
    operations = [
        Operation(
            f"T{dog}", "dog", "mesh_full", region, ends_on=TAKE_DAY,
            wound_as={"cause": "tumour_excision"},
            done_as={"recipient_bed": "fresh_surgical", "timing": "immediate", "thickness": "full", "meshed": "yes"},
            looks=((TAKE_DAY, _seen(100) if survival == "complete" else _seen(100 - surface_lost, depth=depth)),),
        )
        for dog, (survival, region) in enumerate(zip(TONG_SURVIVAL, TONG_REGIONS, strict=True), start=1)
    ]  # fmt: skip
    return Series(
        "tong_simpson_2012",
        f"Tong T, Simpson DJ. J Small Anim Pract 2012;53:520-525 ({READ})",
        rows_of(operations),
        protocol_text(
            "Tong and Simpson 2012", "Three quarters or more of the graft alive, slough of the surface kept apart",
            "dog, full-thickness mesh graft at once after tumour resection", threshold=75, also=(50, 100),
        ),
        ASSUMED["tong_simpson_2012"],
    )  # fmt: skip
