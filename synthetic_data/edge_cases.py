"""
Hand-made little practices, each with one thing that naive sums get wrong; every row is invented.

`edge_case(name)` gives a practice that the workbook writer takes; `NAMES` lists them.
"""

from collections.abc import Callable

from audit.codes import EXIT_REASON
from synthetic_data.practice import Practice
from synthetic_data.scripted import Examination, ScriptedCase, scripted

_OPEN_10 = (Examination(4), Examination(7, 90), Examination(10, 90))
_HEALED_28 = (*_OPEN_10, Examination(21, 90), Examination(28, 90, True), Examination(36, 95, True))
_NO_TAKE = (Examination(4), Examination(7, 20), Examination(10, 10), Examination(14, 10))


def _well(patient: str, **more: object) -> ScriptedCase:
    values = {"examinations": _HEALED_28, "exit_reason": "healed_and_followed", "exit_day": 36} | more
    return ScriptedCase(patient, **values)  # type: ignore[arg-type]


def _badly(patient: str, reason: str = "still_open_at_lock", day: int = 60, **more: object) -> ScriptedCase:
    return ScriptedCase(patient, _NO_TAKE, reason, day, **more)  # type: ignore[arg-type]


def _one_animal() -> list[ScriptedCase]:
    return [_well("K1")]


def _none_healed() -> list[ScriptedCase]:
    return [ScriptedCase(f"K{n}", _OPEN_10, "lost_before_healing", 10) for n in range(1, 7)]


def _all_unknown() -> list[ScriptedCase]:
    unseen = (Examination(4, None, None), Examination(9, None, None, "phone"))
    return [ScriptedCase(f"K{n}", unseen, "lost_before_healing", 9) for n in range(1, 7)]


def _one_method() -> list[ScriptedCase]:
    return [_well(f"K{n}", method="punch") for n in range(1, 9)]


def _all_took() -> list[ScriptedCase]:
    return [_well(f"K{n}") for n in range(1, 13)]


def _none_took() -> list[ScriptedCase]:
    return [_badly(f"K{n}") for n in range(1, 13)]


def _five_in_one_cat() -> list[ScriptedCase]:
    five = [_well("K1", species="cat", wound=letter) for letter in "ABCDE"]
    return [*five, *(_well(f"K{n}", species="cat") for n in range(2, 7))]


def _every_exit() -> list[ScriptedCase]:
    cases = []
    for number, code in enumerate(EXIT_REASON, start=1):
        if code.is_healed:
            cases.append(_well(f"K{number}", exit_reason=code.name))
        else:
            cases.append(ScriptedCase(f"K{number}", _OPEN_10, code.name, 19))
        if code.group == "re_operated":
            method = "mesh_full" if code.name == "re_grafted" else "flap_axial"
            cases.append(_well(f"K{number}", operation=2, starts=19, method=method))
    return cases


def _on_day_21() -> list[ScriptedCase]:
    last_open = (*_OPEN_10, Examination(21, 90), Examination(30, 90, True), Examination(38, 90, True))
    first_healed = (*_OPEN_10, Examination(21, 90, True), Examination(30, 90, True))
    return [
        ScriptedCase("K1", last_open, "healed_and_followed", 38),
        ScriptedCase("K2", first_healed, "healed_and_followed", 30),
        ScriptedCase(
            "K3",
            (*_OPEN_10, Examination(20, 90), Examination(22, 90, True), Examination(30, 90, True)),
            "healed_and_followed",
            30,
        ),
    ]


def _opened_again() -> list[ScriptedCase]:
    examinations = (
        *_OPEN_10,
        Examination(20, 95, True),
        Examination(30, 95, True),
        Examination(40, 95, False),
        Examination(60, 95, True),
        Examination(70, 95, True),
    )
    return [ScriptedCase("K1", examinations, "healed_and_followed", 70, opened=40)]


def _healed_by_telephone() -> list[ScriptedCase]:
    return [ScriptedCase("K1", (*_OPEN_10, Examination(25, None, True, "phone")), "lost_before_healing", 25)]


def _never_seen() -> list[ScriptedCase]:
    return [ScriptedCase("K1"), _well("K2")]


def _second_wound() -> list[ScriptedCase]:
    return [_well("K1"), _well("K1", wound="B", method="punch")]


def _re_graft() -> list[ScriptedCase]:
    return [_badly("K1", "re_grafted", 18), _well("K1", operation=2, starts=18)]


def _absorbable() -> list[ScriptedCase]:
    return [_well("K1", suture_state="absorbable"), _well("K2", suture_state="none_placed"), _well("K3", suture_day=9)]


def _clipped_hair() -> list[ScriptedCase]:
    late = (*_HEALED_28, Examination(100, 100, True))
    grades = (("hair", 1), ("look_edge", 1))
    return [
        _well("K1", examinations=late, exit_day=100, grades=grades, clipped="clipped"),
        _well("K2", examinations=late, exit_day=100, grades=(("hair", 3), ("look_edge", 1))),
    ]


def _slough_only() -> list[ScriptedCase]:
    examinations = (
        Examination(4),
        Examination(7, 60, False, "clinic", "epidermal_only"),
        Examination(10, 60, False, "clinic", "epidermal_only"),
    )
    healed = (Examination(28, 100, True), Examination(36, 100, True))
    return [
        ScriptedCase("K1", (*examinations, *healed), "healed_and_followed", 36),
        ScriptedCase(
            "K2", (Examination(4), Examination(10, 60, False, "clinic", "mixed"), *healed), "healed_and_followed", 36
        ),
        ScriptedCase(
            "K3",
            (Examination(4), Examination(10, 60, False, "clinic", "full_thickness"), *healed),
            "healed_and_followed",
            36,
        ),
    ]


_EDGE_CASES: dict[str, Callable[[], list[ScriptedCase]]] = {
    "one animal": _one_animal,
    "no healed case": _none_healed,
    "every outcome unknown": _all_unknown,
    "only one method": _one_method,
    "all grafts took": _all_took,
    "none took": _none_took,
    "five grafts in one cat": _five_in_one_cat,
    "exits of every kind": _every_exit,
    "a visit on day 21": _on_day_21,
    "opened again": _opened_again,
    "healed by telephone only": _healed_by_telephone,
    "never seen after surgery": _never_seen,
    "second wound": _second_wound,
    "re-graft": _re_graft,
    "absorbable donor sutures": _absorbable,
    "clipped hair": _clipped_hair,
    "epidermal slough only": _slough_only,
}
NAMES = tuple(_EDGE_CASES)


def edge_case(name: str) -> Practice:
    """
    The little practice of that name; its truth is empty, since its rows are all there is.

    >>> [row["exit_reason"] for row in edge_case("re-graft").rows["exits"]]
    ['re_grafted', 'healed_and_followed']
    """
    return scripted(name, _EDGE_CASES[name]())
