"""The changes that are tried on the code: each does what it says, and words, hints and messages are left alone."""

from tests.benchmarks.mutations import mutants, mutated

CODE = '''
"""Days over 3."""

def late(day: int = 4, *, words: str = "day 5") -> bool:
    """Whether a day is past 7."""
    if day < 0:
        raise ValueError(f"{day + 1} is below 0")
    return day > 7 and day - 1 != 9
'''


def test_each_change_does_what_it_says(tmp_path):
    (tmp_path / "late.py").write_text(CODE, "utf-8")
    found = mutants(tmp_path, "late.py")
    assert [(mutant.line, mutant.operator) for mutant in found] == [
        (4, "constant + 1"), (6, "condition never met"), (6, "condition always met"), (6, "< to <="), (6, "< to >="),
        (6, "constant + 1"), (7, "raise dropped"), (8, "returns nothing"), (8, "and to or"), (8, "> to >="),
        (8, "> to <="), (8, "constant + 1"), (8, "!= to =="), (8, "- to +"), (8, "constant + 1"), (8, "constant + 1"),
    ]  # fmt: skip

    def changed(operator, day):
        names = {}
        mutant = next(mutant for mutant in found if mutant.operator == operator)
        exec(mutated(tmp_path, mutant), names)
        return names["late"](day)

    assert changed("> to >=", 7) is True
    assert changed("and to or", 3) is True
    assert changed("- to +", 8) is False
    assert changed("raise dropped", -1) is False
    assert changed("returns nothing", 8) is None
