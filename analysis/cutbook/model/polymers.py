"""Find a plastic by any of its names."""

from __future__ import annotations

from collections.abc import Mapping

from cutbook.model.tables import reference


def polymer_named(material: str) -> Mapping[str, str] | None:
    """The row of a material in the table of polymers, None where it is not known by that name."""
    wanted = material.strip().casefold()
    for row in reference("polymers").rows:
        names = (row["abbreviation"], row["name"], *row["aliases"].split("|"))
        if wanted in (name.casefold() for name in names if name):
            return row
    return None
