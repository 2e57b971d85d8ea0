"""Every name of a method that audit/stats can give, read from its source: what its results are made with."""

import ast
from collections.abc import Iterator
from itertools import product
from pathlib import Path

import audit

FOLDER = Path(audit.__file__).parent
# What an expression inside a name can be; a new one must be given here.
INSIDE = {"draws": ("2,000",), "len(self.chance)": ("9,999",), "weights": ("linear", "quadratic")}


def names_by_module() -> dict[str, set[str]]:
    """For each module of audit/stats the names of methods that its results can carry."""
    trees = {path.stem: ast.parse(path.read_text("utf-8")) for path in sorted((FOLDER / "stats").glob("*.py"))}
    places = dict(_places_of_method([*trees.values(), ast.parse((FOLDER / "results.py").read_text("utf-8"))]))
    return {module: Names(tree, places).all() for module, tree in trees.items()}


def _places_of_method(trees: list[ast.Module]) -> Iterator[tuple[str, int]]:
    """Each class with a field `method`, and the field's place among its fields."""
    for kind in (node for tree in trees for node in ast.walk(tree) if isinstance(node, ast.ClassDef)):
        fields = [node.target.id for node in kind.body if isinstance(node, ast.AnnAssign)]
        if "method" in fields:
            yield kind.name, fields.index("method")


class Names:
    """The values that an expression for a method can take in one module, followed to where they are written."""

    def __init__(self, tree: ast.Module, places: dict[str, int]):
        self.tree, self.places, self.busy = tree, places, set()
        self.functions = {node.name: node for node in ast.walk(tree) if isinstance(node, ast.FunctionDef)}
        self.outer = {inner: outer for outer in ast.walk(tree) for inner in ast.iter_child_nodes(outer)}

    def all(self) -> set[str]:
        """Names given to results, and what a property called `method` returns."""
        found = set()
        for node in ast.walk(self.tree):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in self.places:
                found |= self.of(self._argument(node, self.places[node.func.id], "method"))
            elif isinstance(node, ast.FunctionDef) and node.name == "method":
                found |= {name for value in self._returned(node) for name in self.of(value)}
        return found

    def of(self, node: ast.expr | None) -> set[str]:
        """The strings that the expression can be. Another result's method counts where that result is made."""
        if node is None or node in self.busy:
            return set()
        self.busy.add(node)
        try:
            return self._of(node)
        finally:
            self.busy.discard(node)

    def _of(self, node: ast.expr) -> set[str]:
        match node:
            case ast.Constant(value=str(text)):
                return {text}
            case ast.IfExp():
                return self.of(node.body) | self.of(node.orelse)
            case ast.BinOp(op=ast.Add()):
                return {a + b for a, b in product(self.of(node.left), self.of(node.right))}
            case ast.JoinedStr():
                return {"".join(parts) for parts in product(*(self._inside(part) for part in node.values))}
            case ast.Attribute(attr="method"):
                return set() if self._is_whole(node) else self.all()
            case ast.Call(func=ast.Attribute(value=text, attr="format")):
                return {name.format(draws=2000) for name in self.of(text)}
            case ast.Name():
                return {name for value in self._values(node) for name in self.of(value)}
        raise AssertionError(f"a method made by {ast.unparse(node)} is not understood here")

    def _inside(self, part: ast.expr) -> set[str]:
        if not isinstance(part, ast.FormattedValue):
            return self.of(part)
        return set(INSIDE.get(ast.unparse(part.value), ())) or self.of(part.value)

    def _is_whole(self, node: ast.expr) -> bool:
        return not isinstance(self.outer[node], ast.FormattedValue)

    def _values(self, name: ast.Name) -> Iterator[ast.expr | None]:
        """What the name is set to in its function, given at its calls, or set to in the module."""
        own = self._function(name)
        if own and name.id in (arguments := [argument.arg for argument in (*own.args.args, *own.args.kwonlyargs)]):
            for call in ast.walk(self.tree):
                if isinstance(call, ast.Call) and ast.unparse(call.func) == own.name:
                    yield self._argument(call, arguments.index(name.id), name.id)
        for place in (own, self.tree) if own else (self.tree,):
            for node in ast.walk(place) if place is own else place.body:
                if isinstance(node, ast.Assign):
                    yield from self._set(node, name.id)

    def _set(self, node: ast.Assign, name: str) -> Iterator[ast.expr]:
        for target in node.targets:
            if isinstance(target, ast.Name) and target.id == name:
                yield node.value
            elif isinstance(target, ast.Tuple) and name in (parts := [ast.unparse(part) for part in target.elts]):
                values = [node.value]
                if isinstance(node.value, ast.Call):
                    values = self._returned(self.functions[ast.unparse(node.value.func)])
                yield from (value.elts[parts.index(name)] for value in values)

    def _argument(self, call: ast.Call, place: int, name: str) -> ast.expr | None:
        given = [keyword.value for keyword in call.keywords if keyword.arg == name]
        return given[0] if given else call.args[place] if place < len(call.args) else None

    def _function(self, node: ast.AST) -> ast.FunctionDef | None:
        while node in self.outer and not isinstance(node, ast.FunctionDef):
            node = self.outer[node]
        return node if isinstance(node, ast.FunctionDef) else None

    def _returned(self, function: ast.FunctionDef) -> list[ast.expr]:
        return [node.value for node in ast.walk(function) if isinstance(node, ast.Return)]
