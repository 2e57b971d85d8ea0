"""Grades of hair, looks, limb use and percent alive by several raters, with their bias, noise and hidden repeats."""

from collections.abc import Iterator
from datetime import date

import numpy as np

from synthetic_data.cases import Case
from synthetic_data.sheets import NA, Row, yes_no
from synthetic_data.truth import Planted, Rater

LOOKS = ("look_edge", "look_level", "look_tone", "look_pull", "look_surface")
REPEATED = 0.1
_CLIPPED = 0.1


def score_rows(rng: np.random.Generator, planted: Planted, case: Case) -> list[Row]:
    """Rows of sheet scores: at an examination from day 90 all items, about day 10 percent alive, from photographs."""
    rows: list[Row] = []
    for examination in case.course.examinations:
        if examination.day >= 90 and case.course.seen_healed and not any(row["item"] == "hair" for row in rows):
            rows += _late(rng, planted, case, case.on(examination.day))
        elif 9 <= examination.day <= 11 and case.is_free_graft and rng.random() < 0.4:
            rows += _early(rng, planted, case, case.on(examination.day))
    places = rng.permutation(200)[: len(rows)] + 1
    return [{**row, "order_number": int(place)} for row, place in zip(rows, places, strict=True)]


def _late(rng: np.random.Generator, planted: Planted, case: Case, on: date) -> Iterator[Row]:
    clipped = rng.random() < _CLIPPED
    hair = planted.hair[case.group] + rng.normal(0, 0.6) - (1 if clipped else 0)
    look = planted.look[case.group] + rng.normal(0, 0.5)
    use = 2.8 + rng.normal(0, 0.4)
    coat = "clipped" if clipped else "unclipped"
    raters = planted.raters[: int(rng.integers(1, len(planted.raters) + 1))]
    for rater in raters:
        if case.wound.region.startswith("pad"):
            yield _row(case, on, "hair", rater, NA, coat)
        else:
            yield from _graded(rng, case, on, "hair", rater, hair, top=4, coat=coat)
        for item in LOOKS:
            yield from _graded(rng, case, on, item, rater, look + rng.normal(0, 0.2), top=3, coat=coat)
    yield from _graded(rng, case, on, "use", raters[0], use, top=3, coat=coat)
    owner = Rater("E1", "owner", 0.5, 1.0, False)
    yield _row(case, on, "look_owner", owner, int(np.clip(round(9 - 1.5 * look + rng.normal(0.5, 1)), 0, 10)), coat)


def _early(rng: np.random.Generator, planted: Planted, case: Case, on: date) -> Iterator[Row]:
    for rater in planted.raters[:2]:
        seen = case.fate.viable_pct + 10 * rater.bias + rng.normal(0, 12 * rater.noise)
        yield _row(case, on, "viable_pct", rater, int(np.clip(round(seen), 0, 100)), "not_applicable")


def _graded(
    rng: np.random.Generator, case: Case, on: date, item: str, rater: Rater, truth: float, *, top: int, coat: str
) -> Iterator[Row]:
    """A grade, and now and then a hidden repeat of it by the same rater."""
    better = -1 if item in LOOKS else 1

    def grade() -> int:
        return int(np.clip(round(truth + better * rater.bias + rng.normal(0, rater.noise)), 0, top))

    yield _row(case, on, item, rater, grade(), coat)
    if rng.random() < REPEATED:
        yield {**_row(case, on, item, rater, grade(), coat), "is_repeat": "yes"}


def _row(case: Case, on: date, item: str, rater: Rater, value: object, coat: str) -> Row:
    scale = {"hair": "hair-v1", "use": "use-v1", "look_owner": "owner-v1", "viable_pct": "measure-v1"}
    return {
        **case.key,
        "photo_date": on,
        "item": item,
        "value": value,
        "rater_code": rater.code,
        "rater_role": rater.role,
        "blinded_to_method": yes_no(rater.blinded),
        "clipped": coat,
        "scale": scale.get(item, "look-v1"),
        "blinded_to_day": yes_no(rater.blinded),
        "is_repeat": "no",
        "confidence": "sure" if value != NA else NA,
    }
