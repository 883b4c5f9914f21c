"""The tables of ``tuning.toml``: what the tuning guidance assumes, as data."""

from __future__ import annotations

import tomllib
from functools import lru_cache
from importlib.resources import files
from typing import Any, Mapping

_FILE = "edition_2026_1/tuning.toml"


@lru_cache(maxsize=None)
def tuning_tables() -> Mapping[str, Any]:
    """Return the tables; figures are decimal text, as everywhere in an edition."""
    return tomllib.loads((files("shared_models.catalogue") / _FILE).read_text("utf-8"))


def disturbed_by(function: str) -> tuple[str, ...]:
    """Return the functions that are walked again once this one was changed."""
    return tuple(tuning_tables()["disturbs"].get(function, ()))
