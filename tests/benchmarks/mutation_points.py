"""Where a source file can be changed: operators of Cosmic Ray, less the places that say nothing about behaviour."""

from __future__ import annotations

import ast
import random
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from cosmic_ray.ast import ast_nodes, get_ast
from cosmic_ray.mutating import mutate_code
from cosmic_ray.operators.provider import OperatorProvider

BINARY = "Add_Sub Sub_Add Mul_Div Div_Mul FloorDiv_Div Mod_Mul Pow_Mul BitOr_BitAnd BitAnd_BitOr BitXor_BitOr"
COMPARED = "Lt_LtE Lt_GtE LtE_Lt LtE_Gt Gt_GtE Gt_LtE GtE_Gt GtE_Lt Eq_NotEq NotEq_Eq Is_IsNot IsNot_Is"
UNARY = "Delete_USub Delete_Not Delete_Invert"
OPERATORS = (
    *(f"ReplaceBinaryOperator_{name}" for name in BINARY.split()),
    *(f"ReplaceComparisonOperator_{name}" for name in COMPARED.split()),
    *(f"ReplaceUnaryOperator_{name}" for name in UNARY.split()),
    "AddNot",
    "ReplaceTrueWithFalse",
    "ReplaceFalseWithTrue",
    "ReplaceAndWithOr",
    "ReplaceOrWithAnd",
    "ReplaceBreakWithContinue",
    "ReplaceContinueWithBreak",
    "ExceptionReplacer",
    "NumberReplacer",
    "RemoveDecorator",
    "ZeroIterationForLoop",
)
"""Each sign has its opposite and, for comparisons, its neighbour; not every other sign, as `a ** b` for `a + b` is
caught by any test that runs the line and would flatter the share."""
KEEPING = {"cache", "lru_cache", "cached_property", "override"}
GUARDS = {"strict", "frozen", "slots", "repr", "compare", "kw_only", "eq", "maxsize"}

Position = tuple[int, int]


@dataclass(frozen=True)
class Mutant:
    """One change of one file: the operator's occurrence in it, the line it is on and the whole changed source."""

    path: str
    operator: str
    occurrence: int
    line: int
    source: str


def mutants_of(root: Path, path: str, sample: int, seed: int) -> tuple[list[Mutant], int]:
    """A random sample of the file's mutants, in order of lines, and how many it has."""
    text = (root / path).read_text("utf-8")
    places = list(_places(text))
    random.Random(f"{seed}:{path}").shuffle(places)
    found: dict[str, Mutant] = {}
    for operator, occurrence, line in places:
        if len(found) == sample:
            break
        changed = mutate_code(text, OperatorProvider()[operator](), occurrence)
        if changed is not None and changed not in found and _differs(text, changed):
            found[changed] = Mutant(path, operator, occurrence, line, changed)
    return sorted(found.values(), key=lambda one: (one.line, one.operator, one.occurrence)), len(places)


def _places(text: str) -> Iterator[tuple[str, int, int]]:
    """(operator, occurrence, line) of everything that may be changed."""
    tree = ast.parse(text)
    left_out, signs = list(_left_out(tree, text)), list(_signs(tree))
    provider = OperatorProvider()
    nodes = list(ast_nodes(get_ast(text)))
    for name in OPERATORS:
        operator = provider[name]()
        spots = [spot for node in nodes for spot in operator.mutation_positions(node)]
        for occurrence, (start, end) in enumerate(spots):
            if any(first <= start and end <= last for first, last in left_out):
                continue
            if name.startswith("ReplaceBinary") and not any(first <= start and end <= last for first, last in signs):
                continue
            yield name, occurrence, start[0]


def _differs(text: str, changed: str) -> bool:
    """False for what does not compile and for what reads the same."""
    try:
        return ast.dump(ast.parse(changed)) != ast.dump(ast.parse(text))
    except SyntaxError:
        return False


def _signs(tree: ast.Module) -> Iterator[tuple[Position, Position]]:
    """Gaps between operands, so that `*` in a signature or a call is not taken for a product."""
    for node in ast.walk(tree):
        if isinstance(node, ast.BinOp):
            yield _end(node.left), _start(node.right)
        elif isinstance(node, ast.AugAssign):
            yield _end(node.target), _start(node.value)


def _left_out(tree: ast.Module, text: str) -> Iterator[tuple[Position, Position]]:
    """Annotations, docstrings, texts, __all__, type aliases, guards of dataclasses and zip, decorators that only keep."""
    for node in ast.walk(tree):
        for field in ("annotation", "returns"):
            if isinstance(part := getattr(node, field, None), ast.AST):
                yield _span(part)
        if (
            isinstance(node, ast.JoinedStr)
            or (isinstance(node, ast.If) and "TYPE_CHECKING" in ast.unparse(node.test))
            or (isinstance(node, ast.keyword) and node.arg in GUARDS)
            or (isinstance(node, ast.Assign) and (_is_alias(node.value) or _names(node) & {"__all__", "__version__"}))
        ):
            yield _span(node)
        for one in getattr(node, "decorator_list", ()):
            if ast.unparse(one).partition("(")[0].rpartition(".")[2] in KEEPING:
                yield (one.lineno, 0), (one.end_lineno + 1, 0)


def _is_alias(value: ast.expr) -> bool:
    """`A = B | C` or `A = Literal[...]`, `tuple[...]` of types."""
    if isinstance(value, ast.BinOp) and isinstance(value.op, ast.BitOr):
        return all(_is_type(part) for part in (value.left, value.right))
    return isinstance(value, ast.Subscript) and ast.unparse(value.value).rpartition(".")[2] in {
        *("Literal", "Annotated", "Callable", "Sequence", "Mapping", "tuple", "dict", "list", "Union")
    }


def _is_type(part: ast.expr) -> bool:
    named = part.value if isinstance(part, ast.Subscript) else part
    if isinstance(named, ast.BinOp):
        return _is_type(named.left) and _is_type(named.right)
    if isinstance(named, ast.Constant):
        return named.value is None
    name = ast.unparse(named).rpartition(".")[2]
    return name in {"str", "int", "float", "bool", "bytes", "complex", "tuple", "list", "dict", "set"} or (
        name[:1].isupper() and not name.isupper()
    )


def _names(node: ast.Assign) -> set[str]:
    return {target.id for target in node.targets if isinstance(target, ast.Name)}


def _span(node: ast.AST) -> tuple[Position, Position]:
    return _start(node), _end(node)


def _start(node: ast.AST) -> Position:
    return node.lineno, node.col_offset


def _end(node: ast.AST) -> Position:
    return node.end_lineno, node.end_col_offset


def statement_lines(text: str) -> dict[int, tuple[frozenset[int], bool]]:
    """For each line: the lines of its innermost statement, and whether that runs when the module is imported."""
    found: dict[int, tuple[frozenset[int], bool]] = {}

    def visit(body: list[ast.stmt], at_import: bool) -> None:
        for node in body:
            blocks = [part for name in ("body", "orelse", "finalbody") for part in [getattr(node, name, [])] if part]
            blocks += [part.body for part in (*getattr(node, "handlers", ()), *getattr(node, "cases", ()))]
            first = min((one.lineno for one in getattr(node, "decorator_list", ())), default=node.lineno)
            last = min((block[0].lineno for block in blocks), default=node.end_lineno + 1)
            for line in range(first, node.end_lineno + 1):
                found[line] = frozenset(range(first, max(last, first + 1))), at_import
            inside = at_import and not isinstance(node, (ast.FunctionDef, ast.AsyncFunctionDef))
            for block in blocks:
                visit(block, inside)

    visit(ast.parse(text).body, True)
    return found


def lines_that_read(text: str, lines: frozenset[int]) -> frozenset[int]:
    """Lines elsewhere in the file that read a name which the statement on these lines, run at import, defines."""
    names = set()
    for node in ast.walk(ast.parse(text)):
        if getattr(node, "lineno", None) in lines:
            if isinstance(node, ast.Name) and isinstance(node.ctx, ast.Store):
                names.add(node.id)
            elif isinstance(node, (ast.FunctionDef, ast.ClassDef)):
                return frozenset(range(node.lineno, node.end_lineno + 1)) - lines
    if not names:
        return frozenset()
    found = re.compile(rf"\b({'|'.join(sorted(names))})\b")
    return frozenset(n for n, line in enumerate(text.splitlines(), 1) if found.search(line)) - lines
