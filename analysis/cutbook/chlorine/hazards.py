"""What to be careful of with an oil, from the chlorinated compounds that were found in it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache

from cutbook.model.cautions import Caution, caution
from cutbook.model.chlorine import Target
from cutbook.model.tables import reference

_PERSISTENT = ("hexachlorobenzene", "persistent chlorinated aromatics", "polychlorinated biphenyls")
_AROMATICS = ("chlorobenzenes", "1,4-dichlorobenzene", "chlorotoluenes", "chlorostyrenes", "chloronaphthalenes")
_PHENOLS = ("chlorophenols", "2,4,6-trichlorophenol")
_BENZYLIC = ("benzyl chloride",)
_SPLIT_OFF_ACID = ("chlorinated aliphatics", "flammable alkyl chlorides", "allyl chlorides", "benzyl chloride")
_VOLATILE_TOXIC = ("allyl chlorides", "trichloroethylene", "tetrachloroethylene", "1,2-dichloroethane")
_NOT_FROM_THE_OIL = ("solvent", "internal standard")


@dataclass(frozen=True)
class HazardStatement:
    """A hazard statement of the Globally Harmonized System. code : "H315". hazard_class, category, text : its words."""

    code: str
    hazard_class: str
    category: str
    text: str


def chlorine_cautions(
    found: Sequence[Target], about: str, chlorine_fed: bool = False, purged: bool | None = None
) -> tuple[Caution, ...]:
    """Cautions of one screened oil.

    Parameters
    ----------
    found : targets confirmed or indicated in it; solvents and internal standards are passed over.
    about : the product. chlorine_fed : whether the feed held chlorine as far as anybody says.
    purged : whether the reactor was freed of air, None where nobody says.

    Returns
    -------
    tuple of Caution
        That dioxins cannot be seen comes with every oil, whatever was found.
    """
    own = [target for target in found if target.kind not in _NOT_FROM_THE_OIL]
    raised = [caution("chlorine.dioxins_unseen", about)]
    if chlorine_fed and purged is False:
        raised.append(caution("chlorine.fed_with_air", about))
    elif chlorine_fed and purged is None:
        raised.append(caution("chlorine.fed_perhaps_with_air", about))
    if here := _of(own, _PERSISTENT):
        raised.append(caution("chlorine.persistent_found", about, names=_names(here), statements=_statements_of(here)))
    if here := _of(own, _BENZYLIC):
        raised.append(caution("chlorine.benzyl_found", about, names=_names(here), statements=_statements_of(here)))
    if here := _of(own, _PHENOLS):
        raised.append(caution("chlorine.phenols_found", about, names=_names(here), statements=_statements_of(here)))
    if here := _of(own, _AROMATICS):
        raised.append(caution("chlorine.aromatics_found", about, names=_names(here), statements=_statements_of(here)))
    if here := _of(own, _VOLATILE_TOXIC):
        raised.append(caution("chlorine.volatile_found", about, names=_names(here), statements=_statements_of(here)))
    if here := _of(own, _SPLIT_OFF_ACID):
        raised.append(caution("chlorine.acid_on_heating", about, names=_names(here)))
    return tuple(raised)


def acid_names(found: Iterable[Target]) -> str:
    """Names of those that lose hydrogen chloride in a hot pot, "" without any."""
    return _names(_of(list(found), _SPLIT_OFF_ACID))


def hazard_statements(group: str) -> tuple[HazardStatement, ...]:
    """Statements that apply to one or more members of a hazard group, by code; () for a group without any."""
    return _statements().get(group, ())


def _of(found: Sequence[Target], groups: Sequence[str]) -> list[Target]:
    """Those of some hazard groups."""
    return [target for target in found if set(target.hazards) & set(groups)]


def _names(found: Iterable[Target]) -> str:
    return "; ".join(dict.fromkeys(target.name for target in found))


def _statements_of(found: Iterable[Target]) -> str:
    """Every statement of their groups, each once, by code, in the middle of a sentence."""
    every = {one for target in found for group in target.hazards for one in hazard_statements(group)}
    texts = (one.text for one in sorted(every, key=lambda one: one.code))
    return "; ".join(dict.fromkeys(text[0].lower() + text[1:] for text in texts))


@cache
def _statements() -> Mapping[str, tuple[HazardStatement, ...]]:
    found: dict[str, tuple[HazardStatement, ...]] = {}
    for row in reference("hazard_statements").rows:
        one = HazardStatement(row["code"], row["hazard_class"], row["category"], row["statement"])
        found[row["group"]] = (*found.get(row["group"], ()), one)
    return found
