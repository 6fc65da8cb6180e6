"""Put together what the screen of one oil tells: concentrations, clusters, and what they add up to."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from cutbook.chlorine.concentration import quantify
from cutbook.chlorine.injected import MeasuredRun
from cutbook.chlorine.organic_chlorine import OrganicChlorineSettings, organic_chlorine
from cutbook.chlorine.responses import ConcentrationSettings
from cutbook.chlorine.standard_limits import line_limit_cautions
from cutbook.chlorine.surrogate import SurrogateSettings, surrogate
from cutbook.model.chlorine import ScreenedOil, UnknownCluster
from cutbook.model.chlorine_ledger import ChlorineMethod, OrganicChlorine
from cutbook.model.entered import Entered
from cutbook.model.lineage import Step
from cutbook.model.result import Result
from cutbook.quantitation.calibration import CalibrationSettings


@dataclass(frozen=True)
class OilSettings:
    """The settings of all that is done with the areas of one oil, each described beside the function that obeys it."""

    concentration: ConcentrationSettings
    calibration: CalibrationSettings
    surrogate: SurrogateSettings
    organic: OrganicChlorineSettings


@dataclass(frozen=True, eq=False)
class Laboratory:
    """What others know of an oil.

    chlorine : mass fraction by a laboratory. method : of that. eluted : share of the oil that elutes, in %, by a trace
    with an internal standard.
    """

    chlorine: Entered | None = None
    method: ChlorineMethod = ""
    eluted: Result | None = None


def screened_oil(
    sample: MeasuredRun,
    standards: Sequence[MeasuredRun],
    clusters: Sequence[UnknownCluster],
    known: Laboratory,
    sheet: str,
    settings: OilSettings,
) -> tuple[ScreenedOil, OrganicChlorine]:
    """Concentrations and sums of one oil.

    Parameters
    ----------
    sample, standards : screened under the same method. clusters : of the sample that are no target's, with chlorine,
        bromine or both. known : by others. sheet : name of the run sheet, for messages. settings : see there.

    Returns
    -------
    oil, sums
        A cluster with chlorine and bromine is among the unknown and among those with bromine.

    Raises
    ------
    InputError
        For standards in mg/L of a solvent whose density is not known.
    """
    of = sample.entry.of or sample.entry.file
    by = surrogate(sample, known.eluted, settings.surrogate)
    targets = quantify(sample, standards, by, sheet, settings.concentration, settings.calibration)
    unknown = tuple(one for one in clusters if one.chlorine_atoms)
    bromine = tuple(one for one in clusters if one.bromine_atoms)
    sums = organic_chlorine(of, targets, unknown, by, known.chlorine, known.method, settings.organic)
    inputs = [*(one.concentration.step for one in targets), *(one.step for one in clusters)]
    step = Step("screen oil/1", inputs=tuple(inputs), settings={"of": of, "file": sample.entry.file},
                cautions=line_limit_cautions(targets, of))  # fmt: skip
    return ScreenedOil(of, sample.entry.file, targets, unknown, bromine, step), sums
