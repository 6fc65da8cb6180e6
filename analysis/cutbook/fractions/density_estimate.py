"""Assume a Watson factor for an oil from what was fed, to estimate a density that nobody measured."""

from __future__ import annotations

from collections.abc import Sequence

from cutbook.model.amount import measured
from cutbook.model.lineage import Source, Step
from cutbook.model.polymers import polymer_named
from cutbook.model.properties import WatsonFactor
from cutbook.model.run import Feed
from cutbook.model.tables import reference

OTHER = "other"
"""The row of the table for a plastic that has none of its own."""


def assumed_watson_factor(feeds: Sequence[Feed], sheet: Source) -> WatsonFactor:
    """The Watson factor of an oil, by the plastics that it was made of.

    Parameters
    ----------
    feeds : of the run. sheet : the run sheet, for the lineage.

    Returns
    -------
    WatsonFactor
        The mean of the rows of ``reference/oil_watson_k.csv``, weighted by the mass fed. Its uncertainty is the mean
        of theirs and, beyond it, the spread of the factors about their mean: how much oil each plastic gave is not
        known.

    Notes
    -----
    Watson factors of blends add by mass (common practice, no source).
    """
    rows = reference("oil_watson_k").by("polymer")
    parts: dict[str, float] = {}
    for feed in feeds:
        polymer = polymer_named(feed.material)
        name = polymer["abbreviation"] if polymer is not None else OTHER
        parts[name if name in rows else OTHER] = parts.get(name if name in rows else OTHER, 0.0) + feed.mass.value
    whole = sum(parts.values())
    if whole <= 0:
        parts, whole = {OTHER: 1.0}, 1.0
    shares = {name: mass / whole for name, mass in parts.items()}
    factor = sum(share * float(rows[name]["watson_k"]) for name, share in shares.items())
    own = sum(share * float(rows[name]["u"]) for name, share in shares.items())
    spread = sum(share * (float(rows[name]["watson_k"]) - factor) ** 2 for name, share in shares.items())
    materials = list(dict.fromkeys(feed.material for feed in feeds)) or ["unknown plastic"]
    listed = " and ".join([", ".join(materials[:-1]), materials[-1]] if len(materials) > 1 else materials)
    place = Source(sheet.path, sheet.sha256, ", ".join(feed.place for feed in feeds))
    step = Step("assume Watson factor/1", settings={"shares": shares}, source=place)
    u = (own**2 + spread) ** 0.5
    return WatsonFactor(measured(factor, u, "assumed Watson factor"), f"assumed for oil of {listed}", step)
