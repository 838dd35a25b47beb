"""All finding codes with their texts, read from the source, for docs/reference/findings.md."""

from __future__ import annotations

import ast
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from preprocess.findings import counted
from preprocess.read.messages.remark_texts import REMARK_TEXTS

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

SEVERITIES = ("stop", "warn", "note")
MAKERS = {**dict.fromkeys(SEVERITIES, 0), "_severity": 1}
"""Functions that make findings, and which of their arguments is the code."""

FILLED_IN = {"name": ("merge", "order-shapes", "split"), "what": ("heavy", "weak")}
"""What stands for the names in codes that the source puts together."""

GAP = "…"
_MADE = "<!-- Made by `python -m tests.fresh_docs --write`; change the code instead. -->"
_TEXT = """Everything that evenmark tells has a code, which never changes its meaning, in the report
and with `--json`. A `stop` writes nothing, a `warn` is for you to act on (`--strict` makes it stop
the work), a `note` informs. … stands for a number or a name. Some codes have several sentences."""


@dataclass(frozen=True, order=True)
class Told:
    """One sentence under a code; `message` and `remedy` are empty where the source makes them."""

    code: str
    severity: str
    message: str
    remedy: str


def findings(root: Path) -> list[Told]:
    """All that the source can tell, by code."""
    found = {
        Told(code, text.severity, f"{text.message(GAP)}: {GAP}", text.remedy)
        for code, text in REMARK_TEXTS.items()
    }
    for path in sorted((root / "preprocess").rglob("*.py")):
        found |= set(_told(ast.parse(path.read_text("utf-8"))))
    return sorted(found)


def _told(tree: ast.Module) -> Iterator[Told]:
    constants = _assigned(ast.Module([n for n in tree.body if isinstance(n, ast.Assign)], []))
    strings = {**_assigned(tree), **_returned(tree)}
    for function in (n for n in ast.walk(tree) if isinstance(n, ast.FunctionDef)):
        for call in (n for n in ast.walk(function) if isinstance(n, ast.Call)):
            known = {**strings, **_assigned(function, before=call.lineno)}
            yield from _of_call(call, known, constants)


def _of_call(call: ast.Call, known: dict[str, str], constants: dict[str, str]) -> Iterator[Told]:
    name = call.func.id if isinstance(call.func, ast.Name) else ""
    place = MAKERS.get(name, 0)
    codes = _codes(call.args[place], constants) if name in MAKERS and len(call.args) > place else []
    if not codes:
        return
    words = [_text(argument, known) for argument in call.args[place + 1 : place + 3]]
    if isinstance(call.args[-1], ast.Starred):
        words = [known.get(f"{_called(call.args[-1].value)}()", GAP), GAP]
    words += [""] * (2 - len(words))
    for keyword in call.keywords:
        if keyword.arg == "remedy":
            words[1] = _text(keyword.value, known)
    words = [re.sub(rf"{GAP}(\s*{GAP})+", GAP, text) for text in words]
    for code in codes:
        for severity in (name,) if name in SEVERITIES else ("warn", "note"):
            yield Told(code, severity, *words)


def _codes(node: ast.expr, constants: dict[str, str]) -> list[str]:
    """The codes that an argument can be; those that are put together, one for each filling."""
    match node:
        case ast.Constant(value=str(code)):
            return [code]
        case ast.Name(id=name) if name in constants:
            return [constants[name]]
        case ast.JoinedStr(values=values):
            found = [""]
            for one in values:
                ends = (
                    FILLED_IN[one.value.id]
                    if isinstance(one, ast.FormattedValue)
                    else [str(one.value)]
                )
                found = [start + end for start in found for end in ends]
            return found
    return []


def _assigned(node: ast.AST, before: float = float("inf")) -> dict[str, str]:
    """The text that names were given last before a line."""
    found = [
        (one.lineno, one.targets[0].id, _text(one.value, {}))
        for one in ast.walk(node)
        if isinstance(one, ast.Assign) and isinstance(one.targets[0], ast.Name)
    ]
    return {name: text for line, name, text in sorted(found) if line < before}


def _returned(tree: ast.Module) -> dict[str, str]:
    """What functions give back as text, by their name and (); of a pair the first."""
    found: dict[str, str] = {}
    for function in (n for n in ast.walk(tree) if isinstance(n, ast.FunctionDef)):
        local = _assigned(function)
        for one in (n for n in ast.walk(function) if isinstance(n, ast.Return) and n.value):
            value = (
                one.value.elts[0]
                if isinstance(one.value, ast.Tuple) and one.value.elts
                else one.value
            )
            text = _text(value, local)
            found[f"{function.name}()"] = max(found.get(f"{function.name}()", ""), text, key=len)
    return found


def _called(node: ast.AST) -> str:
    """Name of the function or method that is called."""
    match node:
        case ast.Call(func=ast.Name(id=name) | ast.Attribute(attr=name)):
            return name
    return ""


def _text(node: ast.AST, known: dict[str, str]) -> str:
    match node:
        case ast.Constant(value=str(text)):
            return text
        case ast.JoinedStr(values=values):
            return "".join(_text(value, known) for value in values)
        case ast.FormattedValue(value=ast.Call() as call) | (ast.Call() as call):
            if _called(call) == "counted":
                return " ".join((GAP, *(_plural(noun) for noun in call.args[1:2])))
            return known.get(f"{_called(call)}()", GAP)
        case ast.Name(id=name):
            return known.get(name, GAP)
        case ast.BinOp(left=left, right=right):
            return _text(left, known) + _text(right, known)
        case ast.IfExp(body=body):
            return _text(body, known)
        case _:
            return GAP


def _plural(noun: ast.expr) -> str:
    text = _text(noun, {})
    return text if text == GAP else counted(2, text).removeprefix("2 ")


def page(root: Path) -> str:
    """The page docs/reference/findings.md."""
    blocks = ["# Findings", _MADE, _TEXT]
    titles = {"stop": "Stops", "warn": "Warnings", "note": "Notes"}
    told = findings(root)
    for severity in SEVERITIES:
        rows = [one for one in told if one.severity == severity]
        blocks += [
            f"## {titles[severity]}",
            "\n".join(["| code | says | what to do |", "|---|---|---|", *map(_row, rows)]),
        ]
    return "\n\n".join(blocks) + "\n"


def _row(told: Told) -> str:
    cells = (f"`{told.code}`", told.message, told.remedy)
    return "| " + " | ".join(cell.replace("|", "\\|").replace("\n", " ") for cell in cells) + " |"
