"""Definition of a pass: parameters, contract, and a pure function from artwork to outcome."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, ClassVar

from preprocess.model.artwork.source import Selection
from preprocess.model.declared import Declared, Doc

if TYPE_CHECKING:
    from preprocess.engine.facts import Fact
    from preprocess.engine.ledger import Change
    from preprocess.findings import Finding
    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.bench.bench import Bench

API_VERSION = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Contract:
    """Facts that a pass needs, establishes, leaves standing, and seals against later passes.

    A fact listed in neither `keeps` nor `gives` is lost: a forgotten declaration costs a refusal,
    never a wrong part. `seals` are among the facts given.
    """

    needs: frozenset[Fact] = frozenset()
    gives: frozenset[Fact] = frozenset()
    keeps: frozenset[Fact] = frozenset()
    seals: frozenset[Fact] = frozenset()


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """The new artwork, findings, and entries for the ledger."""

    artwork: Artwork
    findings: tuple[Finding, ...] = ()
    changes: tuple[Change, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Params(Declared):
    """Base of all passes: a frozen dataclass of parameters that can be called.

    Subclasses set `name` and `contract`, declare parameters as ``Annotated[type, Doc("…")]``,
    and implement ``__call__``. No printing, files, clock or randomness inside. A pass that cannot
    do its work raises `preprocess.errors.Refusal`.
    """

    name: ClassVar[str]
    contract: ClassVar[Contract]
    api: ClassVar[int] = API_VERSION

    only: Annotated[Selection | None, Doc("work only on shapes from these elements")] = None
    except_: Annotated[Selection | None, Doc("leave shapes from these elements as they are")] = None
    off: Annotated[bool, Doc("leave this step out, as if it were not in the recipe")] = False

    def contract_on(self, bench: Bench) -> Contract:  # noqa: ARG002 - for passes that ask
        """The contract on this bench; the same everywhere unless a pass says otherwise."""
        return self.contract

    def simulations(self) -> int:
        """About how many predictions of heat a run of it takes: for the time left, no more."""
        return 0

    def __call__(self, artwork: Artwork, bench: Bench, /) -> Outcome:
        """Map the artwork; pure.

        Raises:
            Refusal: the pass cannot do its work on this artwork.
        """
        raise NotImplementedError
