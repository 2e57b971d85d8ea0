"""Numbers of a text, and whether results hold them: the proof that a manuscript invents none."""

import re
from collections.abc import Iterator
from dataclasses import fields, is_dataclass
from datetime import date
from decimal import ROUND_HALF_UP, Decimal
from math import isfinite
from numbers import Real

import numpy as np
import pandas as pd
from pydantic import BaseModel

NUMBER = re.compile(r"\d[\d,]*(?:\.\d+)?")
CASE_CODE = re.compile(r"[0-9a-f]{12}-")


def numbers(text: str) -> list[str]:
    """The numbers in a text, thousands separators taken out."""
    return [found.replace(",", "").rstrip(".") for found in NUMBER.findall(text)]


def resolve(root: object, path: str) -> object:
    """
    What stands at a path of attributes, places, columns and keys.

    An attribute of a tuple is that of each of its items; a word that is none keeps the items, or rows, that have it.
    """
    for step in path.split("."):
        root = _step(root, step)
    return root


def _step(root: object, step: str) -> object:
    if isinstance(root, pd.DataFrame | dict):
        return root[step]
    if isinstance(root, pd.Series):
        return root[root == step]
    if isinstance(root, tuple | list):
        if step.isdigit():
            return root[int(step)]
        named = [item for item in root if step in _names(item)]
        return named or [_step(item, step) for item in root]
    return getattr(root, step)


def _names(item: object) -> list[object]:
    """The words by which an item of a tuple may be called."""
    if isinstance(item, tuple):
        return [part for part in item if isinstance(part, str)]
    return (
        [value for field in fields(item) if isinstance(value := getattr(item, field.name), str)]
        if is_dataclass(item)
        else []
    )


def spellings(result: object) -> set[str]:
    """Every way in which a number of a result may be printed."""
    found: set[str] = set()
    for leaf in _leaves(result):
        if isinstance(leaf, str):
            found |= set() if CASE_CODE.match(leaf) else set(numbers(leaf) + numbers(leaf[:16]))  # fingerprints are cut
        elif isinstance(leaf, date):
            found |= {str(leaf.day), str(leaf.year), f"{leaf.month:02d}", f"{leaf.day:02d}"}
        else:
            found |= _printed(float(leaf))
    return found


def _printed(value: float) -> set[str]:
    if not isfinite(value):
        return set()
    shown = {f"{abs(value):g}"}
    for scaled in (value, value * 100):
        for places in (0, 1, 2, 3):
            exact = Decimal(str(round(abs(scaled), 9))).quantize(Decimal(1).scaleb(-places), ROUND_HALF_UP)
            shown.add(f"{exact:f}")
    return shown


def _leaves(value: object) -> Iterator[str | Real | date]:
    if isinstance(value, str | date):
        yield value
    elif isinstance(value, bool | np.bool_) or value is None:
        return
    elif isinstance(value, Real):
        yield value
    elif isinstance(value, BaseModel):
        yield from _leaves(value.model_dump())
    elif isinstance(value, dict):
        yield from _leaves(list(value.values()))
    elif isinstance(value, pd.DataFrame):
        yield len(value)
        for column in value.columns:
            yield from _leaves(value[column])
    elif isinstance(value, pd.Series):
        yield from (int(n) for n in value.value_counts())
        yield int(value.notna().sum())
        yield from _leaves(value.dropna().tolist())
        if pd.api.types.is_numeric_dtype(value) and value.notna().any():
            yield from (float(value.astype(float).quantile(q)) for q in (0, 0.25, 0.5, 0.75, 1))
    elif isinstance(value, np.ndarray):
        yield from _leaves(value.ravel().tolist())
    elif isinstance(value, list | tuple):
        yield len(value)
        yield sum(len(item) for item in value if isinstance(item, tuple | list))
        if len(value) == 2 and all(isinstance(item, int) for item in value) and value[1]:
            yield value[0] / value[1]
        for item in value:
            yield from _leaves(item)
    elif is_dataclass(value):
        for field in fields(value):
            yield from _leaves(getattr(value, field.name))
        if hasattr(value, "sure_yes"):
            yield from (value.asked, value.known, len(value.sure_yes) + len(value.cannot_tell))
            yield from value.bounds or ()
