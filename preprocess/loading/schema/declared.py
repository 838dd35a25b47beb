"""Declared dataclasses from YAML: checked as a whole, every complaint with its place at once.

The validation library walks the values; the checks, the words and the places are ours.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING, Annotated, Any, TypeVar, Union

from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Discriminator,
    Field,
    PlainValidator,
    Tag,
    TypeAdapter,
    ValidationError,
    create_model,
)
from pydantic.json_schema import models_json_schema

from preprocess.loading.schema.checks import expect_shape, leaf, shape, shape_of
from preprocess.loading.schema.complaints import complaints_of, without_value
from preprocess.loading.schema.json_leaves import leaf_schema
from preprocess.loading.schema.kinds import (
    Either,
    Fixed,
    Items,
    Key,
    Kind,
    Record,
    Table,
    keys_of,
    once_per_class,
)
from preprocess.loading.schema.plain import plain_of
from preprocess.loading.schema.wording import bounds_of, example, words
from preprocess.model.declared import Declared

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.errors import Complaint
    from preprocess.loading.yaml.document import Document, KeyPath

T = TypeVar("T", bound=Declared)

_WHOLE = object()


@dataclass(frozen=True, slots=True, kw_only=True)
class Parameter:
    """A declared parameter in words, for help and docs; `default` is None when it is required."""

    name: str
    takes: str
    example: str
    bounds: str
    default: str | None
    doc: str


def read_declared(
    cls: type[T], document: Document, path: KeyPath = (), data: Any = _WHOLE
) -> tuple[T | None, tuple[Complaint, ...]]:
    """Check what stands at a path of a file against a declared class.

    Args:
        cls: a frozen dataclass derived from `Declared`.
        document: the file.
        path: where in the file `data` stands.
        data: the values there; the whole file unless given.

    Returns:
        The value and no complaints, or None and all complaints.
    """
    if data is _WHOLE:
        data = document.data
    missing = without_value(data, document, path)
    try:
        value: T = _adapter(cls).validate_python(data)
    except ValidationError as error:
        found = complaints_of(error.errors(include_url=False), document, path, cls)
        return None, (*missing.values(), *(c for loc, c in found if loc not in missing))
    return (None, tuple(missing.values())) if missing else (value, ())


def json_schema(cls: type[Declared]) -> dict[str, Any]:
    """JSON Schema (2020-12) of what the class takes in YAML."""
    return _adapter(cls).json_schema()


def json_schemas(
    classes: Sequence[type[Declared]],
) -> tuple[dict[type[Declared], dict[str, str]], dict[str, Any]]:
    """JSON Schemas of several classes: a reference for each, and the definitions they share."""
    made, held = models_json_schema([(_model(cls), "validation") for cls in classes])
    return {cls: made[_model(cls), "validation"] for cls in classes}, held["$defs"]


def describe(cls: type[Declared]) -> tuple[Parameter, ...]:
    """The parameters of a class in words."""
    return tuple(
        Parameter(
            name=key.name,
            takes=words(key.kind),
            example=example(key.kind),
            bounds=bounds_of(key.kind),
            default=None if key.required else default_of(key),
            doc=key.doc,
        )
        for key in keys_of(cls)
    )


def default_of(key: Key) -> str:
    """The default of a key as one would write it; "none" when nothing is set."""
    if key.default is None or key.default in ((), {}):
        return "none"
    return _inline(plain_of(key.kind, key.default))


def _inline(held: Any) -> str:
    if isinstance(held, dict):
        inner = ", ".join(f"{key}: {_inline(value)}" for key, value in held.items())
        return f"{{{inner}}}" if held else "none"
    if isinstance(held, list):
        return "[" + ", ".join(map(_inline, held)) + "]"
    if isinstance(held, bool):
        return "true" if held else "false"
    if isinstance(held, float):
        return f"{held:g}"
    return f"'{held}'" if "#" in str(held) else str(held)


@once_per_class
def _adapter(cls: type[Declared]) -> TypeAdapter[Any]:
    return TypeAdapter(typed(Record(cls)))


def typed(kind: Kind) -> Any:
    """The type by which the validation library checks a kind."""
    match kind:
        case Record(cls):
            inner: Any = Annotated[_model(cls), AfterValidator(partial(_built, cls))]
        case Items(item):
            inner = tuple[typed(item), ...]  # type: ignore[misc]
        case Fixed(items):
            inner = tuple[tuple(typed(item) for item in items)]  # type: ignore[misc]
        case Table(key, value):
            inner = dict[typed(key), typed(value)]  # type: ignore[misc]
        case Either(kinds):
            members = tuple(Annotated[typed(member), Tag(shape_of(member))] for member in kinds)
            inner = Annotated[Union[members], Discriminator(shape)]  # noqa: UP007 - made at run time
        case _:
            return Annotated[Any, PlainValidator(partial(leaf, kind)), leaf_schema(kind)]
    return Annotated[inner, BeforeValidator(partial(expect_shape, kind))]


@once_per_class
def _model(cls: type[Declared]) -> type[BaseModel]:
    """A model whose fields have safe names and whose aliases are the keys in YAML."""
    made: dict[str, Any] = {}
    for key in keys_of(cls):
        said = key.doc if key.required else f"{key.doc} (default: {default_of(key)})"
        field = Field(alias=key.name, description=said, **_absent(required=key.required))
        made[f"p_{key.field}"] = (typed(key.kind), field)
    return create_model(cls.__name__, __config__=ConfigDict(extra="forbid"), **made)


def _absent(*, required: bool) -> dict[str, Any]:
    """A default that stays out of the schema: the dataclass holds the true one."""
    return {} if required else {"default_factory": lambda: None}


def _built(cls: type[Declared], model: BaseModel) -> Declared:
    given = {name.removeprefix("p_"): getattr(model, name) for name in model.model_fields_set}
    return cls(**given)
