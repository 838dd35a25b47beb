"""All finding codes with their texts, read from the source, for docs/reference/findings.md."""

from __future__ import annotations

import ast
import re
from dataclasses import dataclass
from functools import cache
from itertools import product
from types import MappingProxyType
from typing import TYPE_CHECKING

from preprocess.explained.explanations import explanations
from preprocess.findings import counted
from preprocess.read.messages.remark_texts import REMARK_TEXTS

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping
    from pathlib import Path

    from preprocess.explained.explanations import Explanation

SEVERITIES = ("stop", "warn", "note")
GAP = "…"
NONE: Mapping[str, str] = MappingProxyType({})
_MADE = "<!-- Made by `python -m tests.fresh_docs --write`; change the code instead. -->"
_TEXT = """Everything that evenmark tells has a code, which never changes its meaning, in the report
and with `--json`. A `stop` writes nothing, a `warn` is for you to act on (`--strict` makes it stop
the work), a `note` informs. … stands for a number or a name. Some codes have several sentences."""
_EXPLAINED = "`evenmark explain CODE` tells these in the terminal."


@dataclass(frozen=True, order=True)
class Told:
    """One sentence under a code; `message` and `remedy` are empty where the source makes them."""

    code: str
    severity: str
    message: str
    remedy: str


@dataclass(frozen=True)
class Place:
    """A call in the source: its module, the class and the function around it."""

    module: ast.Module
    path: Path
    around: ast.ClassDef | None
    function: ast.FunctionDef
    call: ast.Call
    shared: dict[str, str]
    """Texts of public functions of all modules that give back one."""

    @property
    def known(self) -> dict[str, str]:
        """Texts of the names that the function may use where it calls."""
        local = _assigned(self.function, before=self.call.lineno, known=self.shared)
        constants = ast.Module([n for n in self.module.body if isinstance(n, ast.Assign)], [])
        return {**self.shared, **_assigned(constants), **_returned(self.module), **local}

    def values(self, name: str) -> list[ast.expr]:
        """What a name was given before the call, in the function or else in the module."""
        given = [
            [n.value for n in ast.walk(where) if isinstance(n, ast.Assign) and _gives(n, name)]
            for where in (self.function, self.module)
        ]
        return given[0] or given[1]


@cache
def findings(root: Path) -> tuple[Told, ...]:
    """All that the source can tell, by code; read once in a process, as that takes seconds.

    Raises:
        ValueError: a code in the source cannot be read.
    """
    found = {
        Told(code, text.severity, f"{text.message(GAP)}: {GAP}", text.remedy)
        for code, text in REMARK_TEXTS.items()
    }
    modules = {
        path: ast.parse(path.read_text("utf-8"))
        for path in sorted((root / "preprocess").rglob("*.py"))
        if path.relative_to(root).as_posix() != "preprocess/findings.py"
    }
    texts = {
        f"{one.name}()": _text(_returns(one)[0], {})
        for module in modules.values()
        for one in ast.walk(module)
        if isinstance(one, ast.FunctionDef) and one.name[0] != "_" and len(_returns(one)) == 1
    }
    shared = {name: text for name, text in texts.items() if text != GAP}
    places = [place for path in modules for place in _calls(path, modules[path], shared)]
    callers: dict[str, list[Place]] = {}
    for place in places:
        callers.setdefault(_called(place.call), []).append(place)
    for name in SEVERITIES:
        for place in callers.get(name, ()):
            found |= set(_told(name, place, callers))
    return tuple(sorted(found))


def _calls(path: Path, module: ast.Module, shared: dict[str, str]) -> Iterator[Place]:
    """All calls of a module."""
    for around in (n for n in module.body if isinstance(n, (ast.ClassDef, ast.FunctionDef))):
        own = around if isinstance(around, ast.ClassDef) else None
        for function in (n for n in ast.walk(around) if isinstance(n, ast.FunctionDef)):
            for call in (n for n in ast.walk(function) if isinstance(n, ast.Call)):
                yield Place(module, path, own, function, call, shared)


def _told(severity: str, place: Place, callers: dict[str, list[Place]]) -> Iterator[Told]:
    """Sentences of one call; of a helper that is given the code, those of its callers."""
    if not isinstance(place.call.func, ast.Name):
        return
    named = {n.id for n in ast.walk(place.call.args[0]) if isinstance(n, ast.Name)}
    parameters = [one.arg for one in place.function.args.args]
    if not any(name in parameters and not place.values(name) for name in named):
        yield from _sentences(severity, place, _codes(place.call.args[0], place, {}), place.known)
        return
    if place.function.name not in callers:
        raise _unreadable(place)
    for caller in callers[place.function.name]:
        given = dict(zip(parameters, caller.call.args, strict=False))
        bound = {name: _codes(node, caller, {}) for name, node in given.items() if name in named}
        texts = {name: _text(node, caller.known) for name, node in given.items()}
        codes = _codes(place.call.args[0], place, bound)
        inside = {f"{{{name}}}": text for name, text in texts.items()}
        yield from _sentences(severity, place, codes, {**place.known, **texts, **inside})


def _codes(node: ast.expr, place: Place, bound: dict[str, set[str]]) -> set[str]:
    """All values of a text that may be a code."""
    match node:
        case ast.Constant(value=str(text)):
            return {text}
        case ast.Name(id=name) if name in bound:
            return bound[name]
        case ast.Name(id=name) if values := place.values(name):
            return set().union(*(_codes(value, place, bound) for value in values))
        case ast.IfExp(body=one, orelse=other):
            return _codes(one, place, bound) | _codes(other, place, bound)
        case ast.FormattedValue(value=value):
            return _codes(value, place, bound)
        case ast.JoinedStr(values=values):
            each = [_codes(value, place, bound) for value in values]
            return {"".join(parts) for parts in product(*each)}
        case ast.Attribute(value=ast.Name(id="self"), attr=name) if place.around:
            fields = [n for n in place.around.body if isinstance(n, ast.AnnAssign) and n.value]
            return {_text(n.value, {}) for n in fields if ast.unparse(n.target) == name}
    raise _unreadable(place)


def _unreadable(place: Place) -> ValueError:
    return ValueError(f"{place.path}:{place.call.lineno}: a code that cannot be read")


def _sentences(
    severity: str, place: Place, codes: set[str], known: dict[str, str]
) -> Iterator[Told]:
    call = place.call
    words = [_text(argument, known) for argument in call.args[1:3]]
    if isinstance(call.args[-1], ast.Starred):
        words = [known.get(f"{_called(call.args[-1].value)}()", GAP), GAP]
    words += [""] * (2 - len(words))
    for keyword in call.keywords:
        if keyword.arg == "remedy":
            words[1] = _text(keyword.value, known)
    for code in codes:
        yield Told(code, severity, *(re.sub(rf"{GAP}(\s*{GAP})+", GAP, text) for text in words))


def _gives(node: ast.Assign, name: str) -> bool:
    return isinstance(node.targets[0], ast.Name) and node.targets[0].id == name


def _assigned(
    node: ast.AST, before: float = float("inf"), known: Mapping[str, str] = NONE
) -> dict[str, str]:
    """The text that names were given last before a line."""
    found = [
        (one.lineno, one.targets[0].id, _text(one.value, known))
        for one in ast.walk(node)
        if isinstance(one, ast.Assign) and isinstance(one.targets[0], ast.Name)
    ]
    return {name: text for line, name, text in sorted(found) if line < before}


@cache
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


def _returns(function: ast.FunctionDef) -> list[ast.expr]:
    return [n.value for n in ast.walk(function) if isinstance(n, ast.Return) and n.value]


def _called(node: ast.AST) -> str:
    """Name of the function or method that is called."""
    match node:
        case ast.Call(func=ast.Name(id=name) | ast.Attribute(attr=name)):
            return name
    return ""


def _text(node: ast.AST, known: Mapping[str, str]) -> str:  # noqa: PLR0911 - one to a kind
    match node:
        case ast.Constant(value=str(text)):
            return text
        case ast.JoinedStr(values=values):
            return "".join(_text(value, known) for value in values)
        case ast.FormattedValue(value=ast.Call() as call) | (ast.Call() as call):
            if _called(call) == "join" and isinstance(call.args[0], ast.List):
                return _text(call.func.value, known).join(
                    _text(n, known) for n in call.args[0].elts
                )
            if _called(call) == "counted":
                return " ".join((GAP, *(_plural(noun) for noun in call.args[1:2])))
            return known.get(f"{_called(call)}()", GAP)
        case ast.FormattedValue(value=ast.Name(id=name)):
            return known.get(f"{{{name}}}", GAP)
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
    blocks += ["## Explanations", _EXPLAINED, *map(_explained, explanations().values())]
    return "\n\n".join(blocks) + "\n"


def _explained(one: Explanation) -> str:
    """What `evenmark explain CODE` tells, as a section."""
    lines = [
        f"### `{one.code}`",
        f"{one.title}. {one.why}",
        f"- How to check: {one.check}\n- What to do: {one.do}",
    ]
    if one.recipe:
        lines.append("\n".join(("```yaml", *one.recipe, "```")))
    return "\n\n".join(lines)


def _row(told: Told) -> str:
    cells = (f"`{told.code}`", told.message, told.remedy)
    return "| " + " | ".join(cell.replace("|", "\\|").replace("\n", " ") for cell in cells) + " |"
