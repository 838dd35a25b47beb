"""Type hints of declared classes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

import pytest

from preprocess.loading.schema.value_types import declared_keys, value_type
from preprocess.model.declared import Declared, Doc


def test_a_type_that_yaml_cannot_hold_is_refused():
    with pytest.raises(TypeError, match="no type for a declared parameter"):
        value_type(complex)


def test_a_name_that_only_type_checkers_see_is_told():
    @dataclass(frozen=True, kw_only=True)
    class Blind(Declared):
        held: Annotated[Nowhere, Doc("x")] = None  # type: ignore[name-defined]  # noqa: F821

    with pytest.raises(TypeError, match="imported at run time"):
        declared_keys(Blind)
