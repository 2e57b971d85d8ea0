"""What was computed, read off the results themselves: every method that gave a number of this audit."""

from collections.abc import Iterator
from dataclasses import dataclass, fields, is_dataclass

from audit.methods import method_key


@dataclass(frozen=True, slots=True)
class MethodUse:
    """
    One method as its results name it, with its key in the catalogue, the level of its intervals (0 for a test), and the
    quantities it gave, each once.
    """

    key: str
    method: str
    level: float
    quantities: tuple[str, ...]
    times: int


def method_log(result: object) -> tuple[MethodUse, ...]:
    """
    The methods of every estimate in a result, in the order in which they are met.

    Tests and curves that are no estimates count too, where they name their method. An estimate of one group or factor
    among several stands under the name of that. Raises ValueError for a method that the catalogue does not know.
    """
    uses: dict[tuple[str, float], dict[str, int]] = {}
    for method, named in _named(result):
        quantities = uses.setdefault((method, getattr(named, "level", 0.0)), {})
        quantity = getattr(named, "group", "") or getattr(named, "quantity", type(named).__name__)
        quantities[quantity] = quantities.get(quantity, 0) + 1
    return tuple(
        MethodUse(method_key(method), method, level, tuple(quantities), sum(quantities.values()))
        for (method, level), quantities in uses.items()
    )


def _named(value: object) -> Iterator[tuple[str, object]]:
    """Each method that a result names, and that result: of an estimate, curve or test, or of a p beside them."""
    if isinstance(value, tuple | list):
        for item in value:
            yield from _named(item)
    elif is_dataclass(value) and not isinstance(value, type):
        for name in ("method", "p_method"):
            if method := getattr(value, name, ""):
                yield method, value
        for field in fields(value):
            yield from _named(getattr(value, field.name))
