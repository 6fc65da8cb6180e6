"""Turn the titration of a scrubber into the chlorine that it caught."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from cutbook.model.amount import Amount, measured, nominal, total
from cutbook.model.atoms import atomic_mass, hydrogen_chloride_per_chlorine
from cutbook.model.cautions import Caution, caution
from cutbook.model.entered import Entered
from cutbook.model.errors import InputError
from cutbook.model.lineage import Source, Step
from cutbook.model.result import Result

ABOUT = "scrubber"
SILVER, ACID = "argentometric", "acid-base"
CARBON_DIOXIDE = "carbon dioxide"


@dataclass(frozen=True)
class ScrubberSettings:
    """How a scrubber is judged.

    breakthrough : share of the chlorine in the last of several bottles from which some is taken to have passed it
        (5 %, common practice, no source: a bottle that lets a twentieth through may let a twentieth of that escape).
    """

    breakthrough: float = 0.05


@dataclass(frozen=True, eq=False)
class Bottle:
    """One bottle. place : in the run sheet. method : of its analysis. chlorine in g; titre : mean less blank in mL,
    None where it was not titrated."""

    place: str
    method: str
    chlorine: Result
    titre: Result | None


@dataclass(frozen=True, eq=False)
class Scrubber:
    """What all bottles caught.

    chlorine, hydrogen_chloride in g; not determined where the method cannot tell it. last_share : % of the chlorine
    that the last of several bottles holds, None of one bottle.
    """

    bottles: tuple[Bottle, ...]
    chlorine: Result
    hydrogen_chloride: Result
    last_share: Result | None
    step: Step


def scrubber_chlorine(
    entries: Sequence[Mapping[str, Any]],
    sheet: Source,
    purge_gas: str = "",
    settings: ScrubberSettings = ScrubberSettings(),
) -> Scrubber:
    """The chlorine that the scrubbers of a run caught, bottles in series in the order of the sheet.

    Parameters
    ----------
    entries : [[scrubber]] of the run sheet, at least one. sheet : the run sheet, as their source.
    purge_gas : of the reactor; "" where nobody says. settings : see `ScrubberSettings`.

    Returns
    -------
    Scrubber
        An acid-base titration after a purge with carbon dioxide gives no chlorine: the caustic holds carbonate.

    Raises
    ------
    InputError
        When a key that the method needs is missing, or the blank exceeds the titre.

    Notes
    -----
    m(Cl) = (V - V0) c M(Cl) V(solution)/V(aliquot), one chloride for each silver ion or acid proton; ion chromatography
    m(Cl) = ρ V(solution). The mean titre has the larger of its scatter s/√n and its readings' uncertainty.
    """
    bottles = [_bottle(entry, sheet) for entry in entries]
    amounts = [one.chlorine.amount for one in bottles if one.chlorine.amount is not None]
    found = total(amounts)
    raised = [one for entry in entries for one in _doubts(entry, purge_gas)]
    raised += [one for bottle in bottles for one in bottle.chlorine.step.cautions]
    grams = round(nominal(found), 3)
    spoiled = purge_gas == CARBON_DIOXIDE and any(entry["method"] == ACID for entry in entries)
    if spoiled:
        raised.append(caution("scrubber.carbon_dioxide_purge", ABOUT, grams=grams))
    last = None
    if len(bottles) == 1:
        raised.append(caution("scrubber.one_bottle", ABOUT))
    elif nominal(found) > 0:
        last = 100 * amounts[-1] / found
        if nominal(last) > 100 * settings.breakthrough:
            raised.append(caution("scrubber.breakthrough", ABOUT, share=round(nominal(last), 1), count=len(bottles)))
    step = Step(
        "sum scrubbers/1", inputs=tuple(one.chlorine.step for one in bottles),
        settings={"settings": settings, "purge_gas": purge_gas}, cautions=tuple(raised),
    )  # fmt: skip
    names = ("chlorine caught", "hydrogen chloride caught")
    if spoiled:
        chlorine, acid = (Result.missing(name, "g", "", step, "scrubber.carbon_dioxide_purge") for name in names)
    else:
        chlorine = Result(names[0], found, "g", "", step)
        acid = Result(names[1], found * hydrogen_chloride_per_chlorine(), "g", "", step)
    share = None if last is None else Result("chlorine in the last bottle", last, "%", "chlorine caught", step)
    return Scrubber(tuple(bottles), chlorine, acid, share, step)


def _bottle(entry: Mapping[str, Any], sheet: Source) -> Bottle:
    place, method = entry["place"], entry["method"]
    titrated = method in (SILVER, ACID)
    keys = ("solution_volume", "aliquot", "titrant") if titrated else ("solution_volume", "chloride")
    given: dict[str, Entered] = {key: entry[key] for key in keys if entry[key] is not None}
    if not method or set(keys) - set(given) or (titrated and not entry["titre"]):
        missing = [key for key in (*keys, *(("titre",) if titrated else ())) if not entry[key]]
        raise InputError.single(
            sheet.path, place, f"no {' and no '.join(missing) or 'method'}", f"all that {method or 'a titration'} needs"
        )
    amounts = {key: one.amount(f"{key.replace('_', ' ')} of {place}") for key, one in given.items()}
    texts: dict[str, Any] = {key: one.text for key, one in given.items()}
    raised: list[Caution] = []
    less_blank = None
    if titrated:
        titre, told = _mean_titre(entry["titre"], place)
        raised += told
        blank = entry["blank"]
        less_blank = titre - (blank.amount(f"blank of {place}") if blank is not None else 0.0)
        texts |= {"titre": [one.text for one in entry["titre"]], "blank": blank.text if blank is not None else None}
        if nominal(less_blank) < 0:
            raise InputError.single(
                sheet.path, f"{place}, blank", f"a blank of {blank.value:g} mL for a titre of {nominal(titre):.4g} mL",
                "a blank below the titre", "Chlorine would be negative; check that the two were not swapped.",
            )  # fmt: skip
        if blank is None:
            raised.append(caution("scrubber.no_blank", place))
        moles = less_blank / 1000 * amounts["titrant"] * amounts["solution_volume"] / amounts["aliquot"]
        grams = moles * atomic_mass("Cl")
    else:
        grams = amounts["chloride"] / 1000 * amounts["solution_volume"] / 1000
    step = Step(
        f"chlorine by {method}/1", settings=texts, source=Source(sheet.path, sheet.sha256, place),
        cautions=tuple(raised),
    )  # fmt: skip
    return Bottle(
        place, method, Result(f"chlorine in {place}", grams, "g", "", step),
        None if less_blank is None else Result(f"mean titre less blank of {place}", less_blank, "mL", "", step),
    )  # fmt: skip


def _mean_titre(titres: Sequence[Entered], place: str) -> tuple[Amount, list[Caution]]:
    """Mean with the larger of scatter and reading as its uncertainty."""
    count = len(titres)
    mean = sum(one.value for one in titres) / count
    reading = math.sqrt(sum(one.u**2 for one in titres)) / count
    if count == 1:
        return measured(mean, reading, f"titre of {place}"), [caution("scrubber.one_titre", place)]
    scatter = math.sqrt(sum((one.value - mean) ** 2 for one in titres) / (count - 1) / count)
    return measured(mean, max(scatter, reading), f"titre of {place}"), []


def _doubts(entry: Mapping[str, Any], purge_gas: str) -> list[Caution]:
    """What the method of a bottle counts besides chloride."""
    if entry["method"] == SILVER:
        return [caution("scrubber.silver_counts_bromide", ABOUT)]
    if entry["method"] == ACID and purge_gas != CARBON_DIOXIDE:
        return [caution("scrubber.acid_base", ABOUT)]
    return []
