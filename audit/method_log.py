"""What was computed, read off the results themselves: every method that gave a number of this audit."""

from collections.abc import Iterator
from dataclasses import dataclass, fields, is_dataclass

from audit.results import Estimate


@dataclass(frozen=True, slots=True)
class MethodUse:
    """One method as its results name it, the level of its intervals, and the quantities it gave, each once."""

    method: str
    level: float
    quantities: tuple[str, ...]
    times: int


def method_log(result: object) -> tuple[MethodUse, ...]:
    """
    The methods of every estimate in a result, in the order in which they are met.

    Tests and curves that are no estimates count too, where they name their method. An estimate of one group or factor
    among several stands under the name of that.
    """
    uses: dict[tuple[str, float], dict[str, int]] = {}
    for named in _named(result):
        quantities = uses.setdefault((named.method, getattr(named, "level", 0.0)), {})  # type: ignore[attr-defined]
        quantity = getattr(named, "group", "") or getattr(named, "quantity", type(named).__name__)
        quantities[quantity] = quantities.get(quantity, 0) + 1
    return tuple(
        MethodUse(method, level, tuple(quantities), sum(quantities.values()))
        for (method, level), quantities in uses.items()
    )


def _named(value: object) -> Iterator[object]:
    if isinstance(value, tuple | list):
        for item in value:
            yield from _named(item)
    elif is_dataclass(value) and not isinstance(value, type):
        if isinstance(getattr(value, "method", None), str) and (isinstance(value, Estimate) or hasattr(value, "level")):
            yield value
        for field in fields(value):
            yield from _named(getattr(value, field.name))
