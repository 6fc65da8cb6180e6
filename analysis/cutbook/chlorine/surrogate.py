"""Estimate what a count of ion current weighs where no standard of the compound was run."""

from __future__ import annotations

import math
from dataclasses import dataclass

from cutbook.chlorine.injected import MeasuredRun, standard_in_sample, standard_signal
from cutbook.model.amount import Amount, measured
from cutbook.model.cautions import Caution, caution
from cutbook.model.lineage import Step
from cutbook.model.result import Result


@dataclass(frozen=True)
class SurrogateSettings:
    """How a compound is estimated by the response of another.

    use : whether at all; True, since a number with an honest width tells more than none.
    u_response : standard uncertainty of one compound's ion current a gram against another's, as a share. 0.36: alkanes
        and 14 model compounds against an internal standard were off by -59 to +62 % (Serras-Malillos et al., RSC Adv.
        2024, d4ra00226a); a rectangle of ±62 % has 0.62/√3 = 0.36, and so has the spread whose 14 draws range over
        121 % (range of 14 normal draws 3.41 σ).
    u_spectrum : of the share that the quantifier has in a compound's ions, as a share; 0.2, as fragments of public
        spectra differ between instruments (common practice, no source).
    u_whole_current : of the ion current that stands for the whole oil, as a share; 0.3, since baseline, solvent delay
        and what does not elute are in it (common practice, no source).
    """

    use: bool = True
    u_response: float = 0.36
    u_spectrum: float = 0.2
    u_whole_current: float = 0.3


@dataclass(frozen=True, eq=False)
class Surrogate:
    """per_current : mass fraction of the sample a count·min of ion current. by : what stands for it, in words."""

    per_current: Amount
    by: str
    settings: SurrogateSettings
    step: Step

    def amount(self, current: Amount, name: str, from_one_ion: bool) -> Amount:
        """Mass fraction of a compound. current : of all its ions, counts·min. from_one_ion : whether it was reckoned
        from one ion by a share of a library spectrum."""
        # two compounds against each other differ by √2 of what one differs from the mean
        own = self.settings.u_response / math.sqrt(2)
        width = math.hypot(own, self.settings.u_spectrum) if from_one_ion else own
        return current * self.per_current * measured(1.0, width, f"ion current a gram of {name}, assumed")


def surrogate(
    run: MeasuredRun, eluted: Result | None = None, settings: SurrogateSettings = SurrogateSettings()
) -> Surrogate | None:
    """What a count of ion current weighs in a run.

    Parameters
    ----------
    run : of the sample. eluted : share of the oil that elutes, in %; None where all of it is taken to.
    settings : see `SurrogateSettings`.

    Returns
    -------
    Surrogate or None
        By the internal standard where there is one and its spectrum is known, else by the whole ion current, which
        stands for the share of the oil that elutes. None where neither is at hand or the settings forbid it.
    """
    if not settings.use:
        return None
    common = settings.u_response / math.sqrt(2)
    signal, grams = standard_signal(run), standard_in_sample(run.entry)
    of = run.entry.of or run.entry.file
    if signal is not None and signal.current_share and grams is not None:
        current = measured(signal.area, signal.u_area, f"peak area of {signal.name} in {run.entry.file}")
        width = math.hypot(common, settings.u_spectrum)
        response = measured(1.0, width, f"ion current a gram of {signal.name}, assumed")
        per_current = grams * response * signal.current_share / current
        by = f"internal standard {signal.name}"
        inputs: tuple[Step, ...] = ()
        told = math.hypot(common, common, settings.u_spectrum, settings.u_spectrum)
        raised: tuple[Caution, ...] = (caution("chlorine.by_surrogate", of, by=by, u=_percent(told)),)
    elif run.current_area:
        whole = measured(1.0, settings.u_whole_current, f"ion current that stands for {of}")
        share = eluted.amount / 100 if eluted is not None and eluted.amount is not None else 1.0
        per_current = whole * share / run.current_area
        by = "whole ion current"
        inputs = (eluted.step,) if eluted is not None and eluted.amount is not None else ()
        width = math.hypot(common, settings.u_spectrum, settings.u_whole_current)
        raised = (caution("chlorine.by_surrogate", of, by=by, u=_percent(width)),)
    else:
        return None
    step = Step("take a surrogate/1", inputs=inputs, settings={"by": by, "settings": settings}, cautions=raised)
    return Surrogate(per_current, by, settings, step)


def _percent(share: float) -> int:
    """Expanded uncertainty (k = 2) in %, to tens."""
    return 10 * round(20 * share)
