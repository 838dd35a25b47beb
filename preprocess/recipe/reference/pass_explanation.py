"""Explanation of a pass: its purpose, its parameters, its place in the order, an example."""

from __future__ import annotations

import inspect
from dataclasses import dataclass
from typing import TYPE_CHECKING

from preprocess.engine import registry
from preprocess.errors import wrong
from preprocess.loading.schema.type_words import example_of
from preprocess.loading.schema.value_types import DeclaredKey, declared_keys

if TYPE_CHECKING:
    from collections.abc import Iterable

    from preprocess.engine.contract import Contract
    from preprocess.engine.facts import Fact


@dataclass(frozen=True, slots=True, kw_only=True)
class PassExplanation:
    """One pass in words; `paragraphs` are its docstring, `example` lines of a recipe."""

    name: str
    paragraphs: tuple[str, ...]
    parameters: tuple[DeclaredKey, ...]
    order: tuple[str, ...]
    example: tuple[str, ...]


def explain_pass(name: str) -> PassExplanation:
    """Explain one pass.

    Raises:
        UserError: no such pass, or it cannot be loaded or described.
    """
    cls = registry.load_pass(name)
    try:
        parameters = declared_keys(cls)
    except TypeError as error:
        found = f"the parameters of the pass {name!r} cannot be read: {error}"
        raise wrong(found, "tell the authors of the package") from error
    shared = ("only", "except")
    return PassExplanation(
        name=name,
        paragraphs=_paragraphs(inspect.getdoc(cls) or ""),
        parameters=tuple(sorted(parameters, key=lambda parameter: parameter.name in shared)),
        order=order_sentences(cls.contract),
        example=_example(name, parameters),
    )


def order_sentences(contract: Contract) -> tuple[str, ...]:
    """Sentences of a contract."""
    needs = [f"Before it: {fact.sentence}." for fact in _sorted(contract.needs)]
    gives = [f"After it: {fact.sentence}." for fact in _sorted(contract.gives)]
    keeps = [
        f"If so before, still so after it: {fact.sentence}."
        for fact in _sorted(contract.keeps - contract.gives)
    ]
    seals = [f"No later pass may undo that {fact.sentence}." for fact in _sorted(contract.seals)]
    return (*needs, *gives, *keeps, *seals) or ("It asks nothing of the order.",)


def _paragraphs(docstring: str) -> tuple[str, ...]:
    blocks = (
        block.replace("\n", " ").replace("``", "").strip() for block in docstring.split("\n\n")
    )
    return tuple(block for block in blocks if block)


def _example(name: str, parameters: Iterable[DeclaredKey]) -> tuple[str, ...]:
    required = [f"{key.name}: {example_of(key.type)}" for key in parameters if key.required]
    step = f"{name}: {{{', '.join(required)}}}" if required else name
    return ("passes:", f"  - {step}")


def _sorted(facts: Iterable[Fact]) -> list[Fact]:
    return sorted(facts, key=lambda fact: fact.name)
