"""Number a ladder of n-alkanes, or refuse when the numbering rests on one sign alone."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from cutbook.identification.numbering import Evidence, numberings, weigh
from cutbook.identification.rungs import RungSettings, count_steps, overlooked, pick_rungs
from cutbook.identification.spacing import SpacingSettings
from cutbook.model.cautions import Caution, caution
from cutbook.model.errors import LadderError
from cutbook.model.ladder import Ladder, Rung
from cutbook.model.lineage import Step
from cutbook.model.peaks import Peak, PeakTable
from cutbook.model.tables import reference


@dataclass(frozen=True)
class KnownPeak:
    """A ladder peak whose identity is known from elsewhere, such as a single alkane injected alone.

    carbon : its carbon number, 0 for none. time_min : its retention time in min. file : the ladder in which it
        stands, where a run has several; "" for every ladder.
    """

    carbon: int = 0
    time_min: float = 0.0
    file: str = ""


@dataclass(frozen=True)
class LadderSettings:
    """How a ladder is numbered.

    rungs, spacing : see there.
    known_peak : an independent sign that the user can give when the ladder itself shows too few.
    u_time_min : standard uncertainty of a retention time carried over from the ladder to a sample;
        0.01 min from the repeatability limit of 0.1 min that the simulated-distillation standards allow is
        too lax for a capillary column, a third of it is what a well-kept injector does (common practice).
    boiling_points : "handbook" values, or the "convention" customary in simulated distillation.
    """

    rungs: RungSettings = RungSettings()
    spacing: SpacingSettings = SpacingSettings()
    known_peak: KnownPeak = KnownPeak()
    u_time_min: float = 0.01
    boiling_points: str = "handbook"


def number_ladder(
    peaks: PeakTable,
    file: str,
    declared: tuple[int, ...],
    solvent: str,
    solvent_windows_min: tuple[tuple[float, float], ...],
    settings: LadderSettings = LadderSettings(),
) -> Ladder:
    """Number the rungs of a ladder.

    Parameters
    ----------
    peaks : peak table of the ladder trace.
    file : its name, for messages.
    declared : carbon numbers that the run sheet declares, ascending; empty when none.
    solvent : name of the solvent of the ladder, "" when unknown.
    solvent_windows_min : (start, end) of the solvent peak in min.
    settings : see `LadderSettings`.

    Returns
    -------
    Ladder

    Raises
    ------
    LadderError
        When there are too few rungs, the declared carbons do not match the peaks, or fewer than two
        independent signs support one numbering. The message says what was seen and what would help.
    """
    rungs = pick_rungs(peaks, solvent_windows_min, len(declared) or None, settings.rungs)
    if len(rungs) < settings.rungs.fewest:
        raise LadderError.single(
            file,
            "ladder",
            f"{len(rungs)} peaks that could be n-alkanes",
            f"{max(len(declared), settings.rungs.fewest)} at least",
            "Was the ladder injected, and is its solvent declared (solvent or solvent_window)?",
        )
    if declared and len(rungs) != len(declared):
        raise LadderError.single(
            file,
            "ladder_carbons",
            f"{len(rungs)} peaks that could be n-alkanes, from {rungs[0].apex_min:.2f} to {rungs[-1].apex_min:.2f} min",
            f"{len(declared)}, as declared",
            "Leave out of ladder_carbons what the solvent hides or what is missing from the mixture.",
        )
    times = np.array([peak.apex_min for peak in rungs])
    known = settings.known_peak if settings.known_peak.file in ("", file) else KnownPeak()
    evidence = Evidence(
        file=file,
        times_min=times,
        areas=np.array([peak.area for peak in rungs]),
        steps=count_steps(times, settings.rungs),
        declared=declared,
        overlooked_min=tuple(
            peak.apex_min for peak in overlooked(peaks, rungs, solvent_windows_min, settings.rungs) if declared
        ),
        solvent=solvent,
        solvent_time_min=_solvent_time(peaks, solvent_windows_min, rungs),
        known_carbon=known.carbon,
        known_time_min=known.time_min,
    )
    carbons, signs = weigh(evidence, numberings(evidence, settings.spacing), settings.spacing)
    boiling, table, doubtful = _boiling_points(carbons, settings.boiling_points, file)
    raised: list[Caution] = [*doubtful]
    if {sign.name for sign in signs if sign.verdict == "agrees"} <= {"declared carbons", "spacing trend"}:
        raised.append(caution("ladder.spacing_only", file))
    for sign in signs:
        if sign.verdict == "contradicts":
            raised.append(caution("ladder.sign_against", file, sign=sign.name, seen=sign.seen))
    if len(rungs) < 8:
        raised.append(caution("ladder.few_rungs", file, count=len(rungs)))
    return Ladder(
        file=file,
        rungs=tuple(Rung(carbon, peak) for carbon, peak in zip(carbons, rungs, strict=True)),
        signs=signs,
        u_time_min=settings.u_time_min,
        boiling_c=boiling,
        boiling_table=table,
        step=Step(
            "number ladder/1",
            inputs=(peaks.step,),
            settings={
                "ladder": settings,
                "declared": declared,
                "solvent": solvent,
                "solvent windows": solvent_windows_min,
            },
            cautions=tuple(raised),
        ),
    )


def _solvent_time(peaks: PeakTable, windows: tuple[tuple[float, float], ...], rungs: tuple[Peak, ...]) -> float | None:
    """Apex of the solvent peak: the largest in its window, or one that overtops all rungs."""
    tallest = max(rung.area for rung in rungs)
    inside = [
        peak
        for peak in peaks
        if peak not in rungs
        and (any(a <= peak.apex_min <= b for a, b in windows) or "solvent" in peak.flags or peak.area > 2 * tallest)
    ]
    return max(inside, key=lambda peak: peak.area).apex_min if inside else None


def _boiling_points(carbons: tuple[int, ...], which: str, file: str) -> tuple[np.ndarray, str, tuple[Caution, ...]]:
    column = "boiling_c" if which == "handbook" else "convention_c"
    known = reference("n_alkanes").numbers("carbon_number", column)
    missing = [n for n in carbons if n not in known]
    if missing:
        raise LadderError.single(
            file,
            "ladder",
            f"n-C{missing[0]}, whose boiling point is not in the reference table",
            f"carbon numbers {min(known)} to {max(known)}",
            "Leave the heaviest rungs out of ladder_carbons.",
        )
    cautions: tuple[Caution, ...] = ()
    if carbons[-1] > 30:
        cautions = (caution("ladder.boiling_above_c30", file, table=f"{which} values"),)
    return np.array([known[n] for n in carbons]), f"n_alkanes, {which} values", cautions
