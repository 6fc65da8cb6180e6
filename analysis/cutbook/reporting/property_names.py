"""Name properties as they are printed, from `reports/properties.toml`."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib.resources import files


@cache
def property_names() -> dict[str, str]:
    """Key in the results -> name as printed."""
    return tomllib.loads(files("cutbook.reports").joinpath("properties.toml").read_text(encoding="utf-8"))
