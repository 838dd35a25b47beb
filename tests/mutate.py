"""Break the program a little, many times, and see whether its tests notice.

usage: python -m tests.mutate MODULE TEST… [--sample N] [--seconds S]
       python -m tests.mutate preprocess/units.py tests/test_units.py

Works on a copy. Each mutant changes one thing: a comparison, an operator, a number, a truth value,
a condition, a returned value, or a statement that is left out. Each runs the tests in a process of
its own that stops at the first failure. Survivors are printed with their line; a person has to
judge them. `--sample` takes every so-many-th mutant, so that N are left.
"""

from __future__ import annotations

import argparse
import ast
import copy
import importlib
import os
import shutil
import signal
import sys
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator

ROOT = Path(__file__).parents[1]
PRELOADED = ("numpy", "shapely", "scipy.ndimage", "lxml.etree", "typer", "pytest")
COMPARISONS = {
    ast.Lt: ast.LtE, ast.LtE: ast.Lt, ast.Gt: ast.GtE, ast.GtE: ast.Gt, ast.Eq: ast.NotEq,
    ast.NotEq: ast.Eq, ast.Is: ast.IsNot, ast.IsNot: ast.Is, ast.In: ast.NotIn, ast.NotIn: ast.In,
}  # fmt: skip
OPERATORS = {
    ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult, ast.Mod: ast.Mult,
    ast.FloorDiv: ast.Mult, ast.Pow: ast.Mult, ast.BitAnd: ast.BitOr, ast.BitOr: ast.BitAnd,
}  # fmt: skip


def changes(  # noqa: C901 - one case to a kind of node
    node: ast.AST,
) -> Iterator[ast.AST]:
    """What may stand instead of a node."""
    match node:
        case ast.Compare(ops=[op, *_]) if type(op) in COMPARISONS:
            other = copy.deepcopy(node)
            other.ops[0] = COMPARISONS[type(op)]()
            yield other
        case ast.BinOp(op=op) if type(op) in OPERATORS:
            other = copy.deepcopy(node)
            other.op = OPERATORS[type(op)]()
            yield other
        case ast.BoolOp(op=op):
            other = copy.deepcopy(node)
            other.op = ast.Or() if isinstance(op, ast.And) else ast.And()
            yield other
        case ast.UnaryOp(op=ast.Not() | ast.USub(), operand=operand):
            yield operand
        case ast.Constant(value=bool() as value):
            yield ast.Constant(not value)
        case ast.Constant(value=int() | float() as value):
            yield ast.Constant(value + 1)
        case ast.IfExp(body=body, orelse=orelse):
            yield body
            yield orelse
        case ast.Return(value=value) if value is not None:
            yield ast.Return(ast.Constant(None))
        case ast.Expr(value=ast.Call() | ast.Yield()) | ast.AugAssign() | ast.Raise():
            yield ast.Pass()
        case ast.If(test=test):
            for truth in (True, False):
                other = copy.deepcopy(node)
                other.test = ast.Constant(truth)
                yield other if ast.unparse(test) != str(truth) else ast.Pass()


def mutants(source: str) -> list[tuple[int, str, str]]:
    """Line, what was changed to what, and the whole text, in the order of the file."""
    tree = ast.parse(source)
    skipped = {id(n) for part in _unread(tree) for n in ast.walk(part)}
    nodes = [n for n in ast.walk(tree) if id(n) not in skipped and hasattr(n, "lineno")]
    found = []
    for node in sorted(nodes, key=lambda n: (n.lineno, n.col_offset)):
        for other in changes(node):
            text = ast.unparse(_Swap(node, other).visit(ast.parse(source)))
            told = f"{_short(node)}  →  {_short(other)}"
            found.append((node.lineno, told, text))
    return found


def _unread(tree: ast.AST) -> Iterator[ast.AST]:
    """Annotations and what only type checkers see."""
    for node in ast.walk(tree):
        if isinstance(node, ast.If) and ast.unparse(node.test) == "TYPE_CHECKING":
            yield node
        for name in ("annotation", "returns"):
            part = getattr(node, name, None)
            if isinstance(part, ast.AST):
                yield part


class _Swap(ast.NodeTransformer):
    """Puts a node in the place of the one that stands at the same spot in another tree."""

    def __init__(self, old: ast.AST, new: ast.AST) -> None:
        self.old, self.new = old, new

    def generic_visit(self, node: ast.AST) -> ast.AST:
        alike = type(node) is type(self.old) and all(
            getattr(node, at, None) == getattr(self.old, at)
            for at in ("lineno", "col_offset", "end_lineno", "end_col_offset")
        )
        return ast.fix_missing_locations(self.new) if alike else super().generic_visit(node)


def _short(node: ast.AST) -> str:
    text = " ".join(ast.unparse(node).split())
    return text if len(text) <= 70 else f"{text[:67]}…"


def noticed(folder: Path, tests: list[str], seconds: int) -> bool:
    """Whether the tests fail, or take too long, in a process of their own."""
    child = os.fork()
    if child == 0:
        signal.alarm(seconds)
        os.chdir(folder)
        quiet = os.open(os.devnull, os.O_WRONLY)
        os.dup2(quiet, 1)
        os.dup2(quiet, 2)
        import pytest

        os._exit(int(pytest.main(["-x", "-q", "-p", "no:cacheprovider", *tests])))
    return os.waitpid(child, 0)[1] != 0


def main(arguments: list[str]) -> int:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("module")
    parser.add_argument("tests", nargs="+")
    parser.add_argument("--sample", type=int, default=0)
    parser.add_argument("--seconds", type=int, default=120)
    args = parser.parse_args(arguments)
    sys.dont_write_bytecode = True
    for name in PRELOADED:
        importlib.import_module(name)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name) / "copy"
        left_out = shutil.ignore_patterns(".git", "__pycache__", ".venv*", ".hypothesis")
        shutil.copytree(ROOT, folder, ignore=left_out)
        sys.path[:0] = [str(folder)]
        sys.path[:] = [path for path in sys.path if Path(path or ".").resolve() != ROOT]
        target = folder / args.module
        source = target.read_text("utf-8")
        if noticed(folder, args.tests, args.seconds):
            sys.exit("the tests fail on what is there")
        every = mutants(source)
        some = every[:: max(1, len(every) // args.sample)] if args.sample else every
        survivors = 0
        for line, told, text in some:
            target.write_text(text, "utf-8")
            if not noticed(folder, args.tests, args.seconds):
                survivors += 1
                print(f"{args.module}:{line}: {told}", flush=True)
    print(f"{args.module}: {len(some)} of {len(every)} mutants, {survivors} survived")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
