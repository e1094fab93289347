"""
Single-point mutants of a module: each is its source with one small thing wrong.

Points that cannot change what is reckoned are passed over: docstrings, messages,
annotations, decorators, imports, `__repr__` and `__str__`.
"""

from __future__ import annotations

import ast
import copy
from collections.abc import Iterator
from dataclasses import dataclass

COMPARED: dict[type[ast.cmpop], tuple[type[ast.cmpop], ...]] = {
    ast.Lt: (ast.LtE, ast.GtE),
    ast.LtE: (ast.Lt, ast.Gt),
    ast.Gt: (ast.GtE, ast.LtE),
    ast.GtE: (ast.Gt, ast.Lt),
    ast.Eq: (ast.NotEq,),
    ast.NotEq: (ast.Eq,),
    ast.Is: (ast.IsNot,),
    ast.IsNot: (ast.Is,),
    ast.In: (ast.NotIn,),
    ast.NotIn: (ast.In,),
}
COUNTED: dict[type[ast.operator], type[ast.operator]] = {
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Div,
    ast.Div: ast.Mult,
    ast.FloorDiv: ast.Mult,
    ast.Mod: ast.Mult,
    ast.Pow: ast.Mult,
    ast.BitAnd: ast.BitOr,
    ast.BitOr: ast.BitAnd,
}
SWAPPED = {
    a: b
    for one, two in (
        ("min", "max"),
        ("any", "all"),
        ("minimum", "maximum"),
        ("floor", "ceil"),
        ("argmin", "argmax"),
        ("idxmin", "idxmax"),
        ("zeros", "ones"),
        ("zeros_like", "ones_like"),
    )
    for a, b in ((one, two), (two, one))
} | {"sum": "max", "mean": "sum", "cumsum": "cumprod", "abs": "float"}
EMPTY = {"list": "[]", "dict": "{}", "float": "0.0", "int": "0", "set": "set()"}
MESSAGES = {"message", "why", "remedy", "words", "reason"}
EVEN = {"min", "max", "minimum", "maximum", "isclose"}
"""Functions that ask for no order."""
NO_MATTER = {"strict", "dtype", "encoding"}
"""Keywords without which a good call does the same."""


@dataclass(frozen=True)
class Mutant:
    """
    One point changed.

    Attributes
    ----------
    line
        Of the point, from 1.
    where, kind
        Function or class that holds it; what was done.
    old, new
        Text before and after.
    source
        The whole module with the change.
    """

    line: int
    where: str
    kind: str
    old: str
    new: str
    source: str


Change = tuple[ast.AST, str, str]
"""A node, the text that takes its place, and what was done."""


def mutants(source: str) -> list[Mutant]:
    """
    Make every mutant of a module, in the order of its text.

    Examples
    --------
    >>> [m.new for m in mutants("def f(a):\\n    return a < 2\\n")]
    ['a <= 2', 'a >= 2', '3', 'not (a < 2)']
    """
    lines = [0]
    for line in source.encode().splitlines(keepends=True):
        lines.append(lines[-1] + len(line))
    raw = source.encode()
    found = []
    for where, (node, text, kind) in _points(ast.parse(source), "module"):
        begin = lines[node.lineno - 1] + node.col_offset  # type: ignore[attr-defined]
        end = lines[node.end_lineno - 1] + node.end_col_offset  # type: ignore[attr-defined]
        old = raw[begin:end].decode()
        put = f"({text})" if isinstance(node, ast.expr) else text
        changed = (raw[:begin] + put.encode() + raw[end:]).decode()
        try:
            compile(changed, "mutant", "exec")
        except SyntaxError:
            continue
        found.append(Mutant(node.lineno, where, kind, old, text, changed))  # type: ignore[attr-defined]
    return found


def _points(node: ast.AST, where: str) -> Iterator[tuple[str, Change]]:
    """Walk through all that is reckoned, with the name of the function around it."""
    if _silent(node):
        return
    for change in _changes(node):
        yield where, change
    if isinstance(node, ast.FunctionDef | ast.ClassDef):
        where = node.name if where == "module" else f"{where}.{node.name}"
    for name, value in ast.iter_fields(node):
        if name in ("annotation", "returns", "decorator_list", "bases", "type_params"):
            continue
        for child in value if isinstance(value, list) else [value]:
            if isinstance(child, ast.AST):
                yield from _points(child, where)
    if isinstance(node, ast.FunctionDef) and not _generator(node):
        yield from ((where, change) for change in _returns(node))


def _silent(node: ast.AST) -> bool:
    """Whether nothing below can change what is reckoned."""
    match node:
        case ast.Expr(value=ast.Constant()) | ast.JoinedStr() | ast.Import():
            return True
        case ast.ImportFrom() | ast.If(test=ast.Name(id="TYPE_CHECKING")):
            return True
        case ast.FunctionDef(name="__repr__" | "__str__"):
            return True
        case ast.Assign(targets=[ast.Name(id=name)]):
            return name in MESSAGES or (name[:1].isupper() and name[1:2].islower())
        case ast.keyword(arg=name):
            return name in NO_MATTER
        case ast.Call(func=ast.Name(id=name)):
            return name.endswith("Error") or name in ("isinstance", "cast", "field")
    return False


def _changes(node: ast.AST) -> Iterator[Change]:
    """What can be wrong with one node alone."""
    if isinstance(node, ast.stmt):
        yield from _statements(node)
    elif isinstance(node, ast.Constant):
        yield from _constants(node)
    elif isinstance(node, ast.Compare):
        for n, op in enumerate(node.ops):
            for other in COMPARED[type(op)]:
                ops = [*node.ops[:n], other(), *node.ops[n + 1 :]]
                yield node, _text(node, ops=ops), "comparison"
    elif isinstance(node, ast.BinOp):
        yield from _sums(node)
    elif isinstance(node, ast.UnaryOp):
        yield node, ast.unparse(node.operand), "sign or not dropped"
    elif isinstance(node, ast.BoolOp):
        other = ast.And() if isinstance(node.op, ast.Or) else ast.Or()
        yield node, _text(node, op=other), "and/or"
        for n in range(len(node.values)):
            rest = node.values[:n] + node.values[n + 1 :]
            kept = rest[0] if len(rest) == 1 else None
            text = ast.unparse(kept) if kept else _text(node, values=rest)
            yield node, text, "condition dropped"
    elif isinstance(node, ast.Call):
        yield from _calls(node)
    elif isinstance(node, ast.IfExp):
        swapped = _text(node, body=node.orelse, orelse=node.body)
        yield node, swapped, "choice swapped"
    elif isinstance(node, ast.List) and len(node.elts) > 1:
        for n in range(len(node.elts)):
            rest = node.elts[:n] + node.elts[n + 1 :]
            yield node, _text(node, elts=rest), "element dropped"
    elif isinstance(node, ast.ListComp | ast.SetComp | ast.GeneratorExp):
        for n, loop in enumerate(node.generators):
            if loop.ifs:
                bare = copy.copy(loop)
                bare.ifs = []
                loops = [*node.generators[:n], bare, *node.generators[n + 1 :]]
                yield node, _text(node, generators=loops), "filter dropped"


def _statements(node: ast.stmt) -> Iterator[Change]:
    match node:
        case ast.Expr(value=ast.Yield() | ast.YieldFrom()):
            yield node, "pass", "yield dropped"
        case ast.Expr(value=ast.Call()):
            yield node, "pass", "call dropped"
        case ast.AugAssign():
            yield node, "pass", "step dropped"
            if type(node.op) in COUNTED:
                yield node, _text(node, op=COUNTED[type(node.op)]()), "arithmetic"
        case ast.Assign(targets=[ast.Subscript()]):
            yield node, "pass", "assignment dropped"
        case ast.If() | ast.While():
            yield node.test, "False", "condition never"
            if isinstance(node, ast.If):
                yield node.test, f"not ({ast.unparse(node.test)})", "condition turned"
        case ast.Raise():
            yield node, "pass", "error not raised"
        case ast.Continue():
            yield node, "break", "break for continue"
        case ast.Break():
            yield node, "continue", "continue for break"


def _constants(node: ast.Constant) -> Iterator[Change]:
    value = node.value
    if isinstance(value, bool):
        yield node, str(not value), "constant"
    elif isinstance(value, int):
        yield node, str(value + 1), "constant"
    elif isinstance(value, float):
        yield node, repr(value * 1.2 if value else 1.0), "constant"


def _sums(node: ast.BinOp) -> Iterator[Change]:
    if type(node.op) not in COUNTED:
        return
    if any(isinstance(x, ast.JoinedStr) for x in (node.left, node.right)):
        return
    yield node, _text(node, op=COUNTED[type(node.op)]()), "arithmetic"
    yield node, ast.unparse(node.left), "term dropped"
    if isinstance(node.op, ast.Add | ast.Mult | ast.BitAnd | ast.BitOr):
        yield node, ast.unparse(node.right), "term dropped"


def _calls(node: ast.Call) -> Iterator[Change]:
    func = node.func
    name = func.attr if isinstance(func, ast.Attribute) else getattr(func, "id", "")
    if name in SWAPPED:
        changed = copy.copy(func)
        setattr(changed, "attr" if hasattr(func, "attr") else "id", SWAPPED[name])
        yield node, _text(node, func=changed), "function swapped"
    for n, word in enumerate(node.keywords):
        if word.arg is not None and word.arg not in NO_MATTER:
            rest = node.keywords[:n] + node.keywords[n + 1 :]
            yield node, _text(node, keywords=rest), "keyword dropped"
    for n, (one, two) in enumerate(zip(node.args, node.args[1:], strict=False)):
        if name not in EVEN and ast.dump(one) != ast.dump(two):
            args = [*node.args[:n], two, one, *node.args[n + 2 :]]
            yield node, _text(node, args=args), "arguments swapped"


def _returns(node: ast.FunctionDef) -> Iterator[Change]:
    """Nothing returned in place of something, by the annotation."""
    kind = ast.unparse(node.returns).split("[")[0] if node.returns else ""
    for found in ast.walk(node):
        if not isinstance(found, ast.Return) or found.value is None:
            continue
        text = ast.unparse(found.value)
        bare = isinstance(found.value, ast.Compare | ast.BoolOp)
        if kind == "bool" or (not kind and bare):
            yield found.value, f"not ({text})", "answer turned"
        elif EMPTY.get(kind, text) != text:
            yield found.value, EMPTY[kind], "empty returned"


def _generator(node: ast.FunctionDef) -> bool:
    return any(isinstance(n, ast.Yield | ast.YieldFrom) for n in ast.walk(node))


def _text(node: ast.AST, **changes: object) -> str:
    """Text of a node with some of its fields changed."""
    changed = copy.copy(node)
    for name, value in changes.items():
        setattr(changed, name, value)
    return ast.unparse(changed)
