"""Results: donor sutures and complications, and how many bandage changes it took."""

from collections.abc import Collection

from reports import wording
from reports.prose import Block, Heading
from reports.write_up.evidence import Evidence
from reports.write_up.phrases import fact, paragraph, see, share_known, within


def donor_and_bandage_results(evidence: Evidence, shown: Collection[str]) -> tuple[Block, ...]:
    """Donor sutures and complications, and how many bandage changes it took."""
    donor, bandages = evidence.audit.donor, evidence.audit.bandages
    blocks: list[Block] = []
    for i, group in enumerate(donor.sutures):
        name = group.species
        hurt = len(dict(donor.with_complication).get(name, ()))
        total = int((donor.sites["species"] == name).sum())
        blocks.append(paragraph(
            "In {who}, {share} had the sutures out on {days}; a complication of the donor site was recorded in {hurt}{see}.",
            who=within(name),
            share=share_known(evidence, f"sutures-{name}", f"donor.sutures.{i}", group, "donor site"),
            days=fact(f"sutures-{name}-days", wording.day_range(donor.sutures_from, donor.sutures_to), "donor"),
            hurt=fact(f"donor-hurt-{name}", f"{hurt} of {total}", "donor.with_complication", "donor.sites"),
            see=see(shown, "donor-bandage"),
        ))  # fmt: skip
    for i, (name, curve) in enumerate(bandages.mean):
        if not curve.day.size or not evidence.risks:
            continue
        ends = f"{wording.number(curve.low[-1], 1)} to {wording.number(curve.high[-1], 1)}"
        words = f"{wording.number(curve.mean[-1], 1)} ({wording.percent(curve.level)} interval {ends})"
        where = f"bandages.mean.{i}.1"
        blocks.append(paragraph(
            "In {who}, a case had had {mean} bandage changes on average by {day} ({animals}){see}.",
            who=within(name),
            mean=fact(f"changes-{name}", words, where),
            day=fact(f"changes-{name}-day", wording.day(curve.day[-1]), where),
            animals=fact(f"changes-{name}-n", wording.count(curve.animals, "animal"), where),
            see=see(shown, "donor-bandage", "bandage-phases", "bandage-mean"),
        ))  # fmt: skip
    nothing = paragraph("Neither a donor site nor a bandage change was on record.")
    return (Heading("Donor sites and bandage changes", 2), *(blocks or [nothing]))
