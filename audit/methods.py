"""The catalogue of methods, methods.toml: what gives a number, where it comes from, and how report and paper say it."""

import re
import tomllib
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

NUMBER, METHOD = "{n}", "{method}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Method:
    """
    One method: the `part` of METHODS.md that it stands in, the question that it answers, and its functions there.

    `names` are as results name it ({n} for a number, {method} for any other name), `says` its words on the page,
    `sources` keys of the references, `checked` the tests and what they hold it against. Without sources, `no_source`
    says why.
    """

    key: str
    part: str
    question: str
    functions: tuple[str, ...]
    names: tuple[str, ...]
    says: str
    sources: tuple[str, ...]
    checked: str
    no_source: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Wording:
    """What report or manuscript says of some methods, with those of their sources that are printed beside it."""

    about: str = ""
    says: str
    methods: tuple[str, ...]
    sources: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Catalogue:
    """Methods by key, the rows of the report's table, and the sentences of a manuscript, each in its order."""

    methods: dict[str, Method]
    report: tuple[Wording, ...]
    sentences: tuple[Wording, ...]


@cache
def catalogue() -> Catalogue:
    """The catalogue as the file has it; ValueError where a part of it names a method or a source that is not there."""
    told = tomllib.loads((files("audit") / "methods.toml").read_text("utf-8"))
    methods = {key: Method(key=key, **_frozen(entry)) for key, entry in told["method"].items()}
    for method in methods.values():
        if bool(method.sources) == bool(method.no_source):
            raise ValueError(f"methods.toml, {method.key}: give sources, or say in no_source why there are none")
    report, sentences = (
        tuple(Wording(about=row.pop("for", ""), **_frozen(row)) for row in told[kind])
        for kind in ("report", "sentence")
    )
    for wording in (*report, *sentences):
        known(wording.methods, methods)
        strange = set(wording.sources) - {source for key in wording.methods for source in methods[key].sources}
        if strange:
            raise ValueError(
                f'methods.toml, "{wording.says}": {", ".join(sorted(strange))} is no source of '
                f"{', '.join(wording.methods)}; add it to their sources, or take it out"
            )
    return Catalogue(methods, report, sentences)


def _frozen(entry: dict) -> dict:
    return {name: tuple(value) if isinstance(value, list) else value for name, value in entry.items()}


def known(keys: Iterable[str], methods: dict[str, Method] | None = None) -> tuple[str, ...]:
    """The keys; ValueError where the catalogue lacks one."""
    methods = catalogue().methods if methods is None else methods
    keys = tuple(keys)
    lost = [key for key in keys if key not in methods]
    if lost:
        raise ValueError(f"no method has the key {', '.join(lost)}; take one of methods.toml: {', '.join(methods)}")
    return keys


@cache
def method_key(name: str) -> str:
    """
    The key of the method that a result names so; ValueError where no entry has that name.

    >>> method_key("square-and-add of Wilson and Clopper-Pearson"), method_key("9,999 random permutations of animals")
    ('difference', 'rank-test')
    """
    for key, pattern in patterns():
        if pattern.fullmatch(name):
            return key
    raise ValueError(
        f'no method of methods.toml has the name "{name}"; add it to the names of the method that gives it'
    )


@cache
def patterns() -> tuple[tuple[str, re.Pattern[str]], ...]:
    """Every name of the catalogue as a pattern, each with the key of its method."""
    named = [(key, name) for key, method in catalogue().methods.items() for name in method.names]
    plain = {name: re.escape(name).replace(re.escape(NUMBER), r"\d[\d,]*") for _, name in named}
    any_other = "|".join(plain[name] for _, name in named if METHOD not in name)
    return tuple((key, re.compile(plain[name].replace(re.escape(METHOD), f"(?:{any_other})"))) for key, name in named)
