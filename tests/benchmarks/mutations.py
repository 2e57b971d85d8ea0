"""
Small wrong changes of a module, one at a time: a comparison, a sign, a constant, a branch, a condition, a return.

Left alone, as no test should hold them: strings, docstrings, type hints, decorators, assertions, what an error says,
and `__repr__` or `__str__`.
"""

import ast
import copy
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from types import CodeType

COMPARISONS: dict[type[ast.cmpop], tuple[type[ast.cmpop], ...]] = {
    ast.Lt: (ast.LtE, ast.GtE),
    ast.LtE: (ast.Lt, ast.Gt),
    ast.Gt: (ast.GtE, ast.LtE),
    ast.GtE: (ast.Gt, ast.Lt),
    ast.Eq: (ast.NotEq,),
    ast.NotEq: (ast.Eq,),
    ast.In: (ast.NotIn,),
    ast.NotIn: (ast.In,),
    ast.Is: (ast.IsNot,),
    ast.IsNot: (ast.Is,),
}
SUMS: dict[type[ast.operator], type[ast.operator]] = {
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Div,
    ast.Div: ast.Mult,
    ast.FloorDiv: ast.Div,
    ast.Mod: ast.Mult,
    ast.Pow: ast.Mult,
    ast.BitAnd: ast.BitOr,
    ast.BitOr: ast.BitAnd,
}
NAMES = {
    "min": "max", "max": "min", "any": "all", "all": "any", "minimum": "maximum", "maximum": "minimum",
    "floor": "ceil", "ceil": "floor", "argmin": "argmax", "argmax": "argmin", "nanmin": "nanmax", "nanmax": "nanmin",
    "idxmin": "idxmax", "idxmax": "idxmin", "left": "right", "first": "last", "last": "first",
}  # fmt: skip
# Arguments that guard, describe or hasten and change no result.
SILENT = {"strict", "repr", "compare", "slots", "frozen", "kw_only", "stacklevel", "maxsize", "copy"}
SYMBOLS = {
    "Lt": "<", "LtE": "<=", "Gt": ">", "GtE": ">=", "Eq": "==", "NotEq": "!=", "In": "in", "NotIn": "not in",
    "Is": "is", "IsNot": "is not", "Add": "+", "Sub": "-", "Mult": "*", "Div": "/", "FloorDiv": "//", "Mod": "%",
    "Pow": "**", "BitAnd": "&", "BitOr": "|", "And": "and", "Or": "or", "USub": "-", "Not": "not", "Invert": "~",
}  # fmt: skip

Change = Callable[[ast.AST], ast.AST | None]


@dataclass(frozen=True, slots=True)
class Mutant:
    """One change: `number` counts the file's nodes, `operator` is short ("< to <="), `before` and `after` are code."""

    file: str
    line: int
    number: int
    variant: int
    function: str
    operator: str
    source: str
    before: str
    after: str

    def __str__(self) -> str:
        return f"{self.file}:{self.line} {self.operator}: `{self.before}` -> `{self.after}`"


def mutants(root: Path, file: str) -> list[Mutant]:
    """Every mutant of a file, in the order of its nodes."""
    text = (root / file).read_text("utf-8")
    lines, tree = text.splitlines(), ast.parse(text)
    listed = []
    for number, (node, function) in enumerate(_open_nodes(tree, "")):
        for variant, (operator, change) in enumerate(_changes(node)):
            changed = change(copy.deepcopy(node))
            after = "pass" if changed is None else _short(changed)
            if after != _short(node):
                line = node.target.lineno if isinstance(node, ast.comprehension) else node.lineno  # type: ignore[attr-defined]
                listed.append(
                    Mutant(
                        file=file, line=line, number=number, variant=variant, function=function, operator=operator,
                        source=lines[line - 1].strip(), before=_short(node), after=after,
                    )
                )  # fmt: skip
    return listed


def mutated(root: Path, mutant: Mutant) -> CodeType:
    """The code of the file with that one change."""
    tree = ast.parse((root / mutant.file).read_text("utf-8"))
    node, _ = next(pair for number, pair in enumerate(_open_nodes(tree, "")) if number == mutant.number)
    _, change = list(_changes(node))[mutant.variant]
    new = change(copy.deepcopy(node)) or ast.Pass()
    changed = _Replace(node, ast.copy_location(new, node)).visit(tree)
    return compile(ast.fix_missing_locations(changed), str(root / mutant.file), "exec")


class _Replace(ast.NodeTransformer):
    def __init__(self, old: ast.AST, new: ast.AST) -> None:
        self.old, self.new = old, new

    def visit(self, node: ast.AST) -> ast.AST:
        return self.new if node is self.old else self.generic_visit(node)


def _short(node: ast.AST) -> str:
    """The node as code, an `if` by its head alone."""
    shown = ast.unparse(ast.fix_missing_locations(node))
    head = shown.splitlines()[0]
    return head if len(head) <= 100 else f"{head[:97]}..."


def _open_nodes(node: ast.AST, function: str) -> Iterator[tuple[ast.AST, str]]:
    """Each node that may be changed, with the qualified name of the function it stands in ("" outside of any)."""
    for name, value in ast.iter_fields(node):
        if name in ("annotation", "returns", "decorator_list", "type_params", "bases"):
            continue
        for child in value if isinstance(value, list) else (value,):
            if not isinstance(child, ast.AST) or isinstance(
                child, ast.Assert | ast.JoinedStr | ast.Import | ast.ImportFrom
            ):
                continue
            if isinstance(child, ast.keyword) and child.arg in SILENT:
                continue
            inside = function
            if isinstance(child, ast.FunctionDef | ast.ClassDef):
                if child.name in ("__repr__", "__str__"):
                    continue
                inside = f"{function}.{child.name}" if function else child.name
            yield child, function
            if isinstance(child, ast.Call) and getattr(child.func, "id", "") == "isinstance":
                yield from _open_nodes(child.args[0], inside)
            elif not isinstance(child, ast.Raise):
                yield from _open_nodes(child, inside)


def _changes(node: ast.AST) -> Iterator[tuple[str, Change]]:
    if isinstance(node, ast.Compare):
        for place, old in enumerate(node.ops):
            for new in COMPARISONS[type(old)]:
                yield _named(type(old), new), _with_item("ops", place, new)
    elif isinstance(node, ast.BinOp | ast.AugAssign) and type(node.op) in SUMS and not _on_text(node):
        yield _named(type(node.op), SUMS[type(node.op)]), _with("op", SUMS[type(node.op)])
    elif isinstance(node, ast.BoolOp):
        other = ast.Or if isinstance(node.op, ast.And) else ast.And
        yield _named(type(node.op), other), _with("op", other)
    elif isinstance(node, ast.UnaryOp) and not isinstance(node.op, ast.UAdd):
        yield f"{SYMBOLS[type(node.op).__name__]} dropped", lambda n: n.operand  # type: ignore[attr-defined]
    elif isinstance(node, ast.Constant):
        yield from _constant(node)
    elif isinstance(node, ast.Call):
        name = node.func.attr if isinstance(node.func, ast.Attribute) else getattr(node.func, "id", "")
        if name in NAMES:
            yield f"{name} to {NAMES[name]}", _renamed
    elif isinstance(node, ast.If | ast.While):
        yield "condition never met", _with("test", lambda: ast.Constant(value=False))
        if isinstance(node, ast.If):
            yield "condition always met", _with("test", lambda: ast.Constant(value=True))
    elif isinstance(node, ast.IfExp):
        yield "other branch", lambda n: n.orelse  # type: ignore[attr-defined]
        yield "first branch", lambda n: n.body  # type: ignore[attr-defined]
    elif isinstance(node, ast.comprehension) and node.ifs:
        yield "filter dropped", _with("ifs", list)
    elif isinstance(node, ast.Return) and node.value is not None and not _is_nothing(node.value):
        yield "returns nothing", _with("value", lambda: None)
    elif isinstance(node, ast.Raise):
        yield "raise dropped", lambda n: None
    elif isinstance(node, ast.Continue):
        yield "continue to break", lambda n: ast.Break()
    elif isinstance(node, ast.Break):
        yield "break to continue", lambda n: ast.Continue()
    elif isinstance(node, ast.Expr) and isinstance(node.value, ast.Call):
        yield "call dropped", lambda n: None


def _constant(node: ast.Constant) -> Iterator[tuple[str, Change]]:
    if isinstance(node.value, bool):
        yield f"{node.value} to {not node.value}", _with("value", lambda: not node.value)
    elif isinstance(node.value, int | float):
        value = node.value
        yield "constant + 1", _with("value", lambda: value + 1)


def _named(old: type[ast.AST], new: type[ast.AST]) -> str:
    return f"{SYMBOLS[old.__name__]} to {SYMBOLS[new.__name__]}"


def _with(field: str, make: Callable[[], object]) -> Change:
    def change(node: ast.AST) -> ast.AST:
        setattr(node, field, make())
        return node

    return change


def _with_item(field: str, place: int, make: Callable[[], object]) -> Change:
    def change(node: ast.AST) -> ast.AST:
        getattr(node, field)[place] = make()
        return node

    return change


def _renamed(node: ast.AST) -> ast.AST:
    called = node.func  # type: ignore[attr-defined]
    if isinstance(called, ast.Attribute):
        called.attr = NAMES[called.attr]
    else:
        called.id = NAMES[called.id]
    return node


def _on_text(node: ast.BinOp | ast.AugAssign) -> bool:
    """Whether text is joined or filled in, where another sign would only be a crash."""
    sides = (node.value,) if isinstance(node, ast.AugAssign) else (node.left, node.right)
    return any(
        isinstance(s, ast.JoinedStr) or (isinstance(s, ast.Constant) and isinstance(s.value, str)) for s in sides
    )


def _is_nothing(node: ast.expr) -> bool:
    return isinstance(node, ast.Constant) and node.value is None
