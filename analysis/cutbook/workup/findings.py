"""Everything that a work-up found, by name."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from cutbook.balance.scrubber import Scrubber
from cutbook.chlorine.workplace_air import WorkplaceRow
from cutbook.fractions.curve_precision import RepeatedCurve, curve_precisions
from cutbook.model.agreement import Agreement
from cutbook.model.balance import Balance, Reconciliation
from cutbook.model.boiling import BoilingCurve, CurvePrecision
from cutbook.model.carbon import CarbonDistribution
from cutbook.model.cautions import Caution
from cutbook.model.chlorine_ledger import ChlorineBalance
from cutbook.model.cold import ColdStorage, WaxFormers
from cutbook.model.cuts import Cut, Sensitivity, WholeCut
from cutbook.model.elements import ElementBalance
from cutbook.model.energy import EnergyLedger
from cutbook.model.ladder import Check, Ladder
from cutbook.model.lineage import Source
from cutbook.model.monte_carlo import MonteCarlo
from cutbook.model.peaks import PeakTable
from cutbook.model.plan import PlanComparison
from cutbook.model.properties import CutProperties, Property
from cutbook.model.result import Result
from cutbook.model.run import DistillationEntry, Run
from cutbook.model.still import StillCurve
from cutbook.model.trace import Baseline, Trace
from cutbook.workup.chlorine_findings import ChlorineFindings, chlorine_names
from cutbook.workup.energy_names import energy_names
from cutbook.workup.gas_findings import GasFindings, gas_named

if TYPE_CHECKING:
    import pandas as pd

    from cutbook.workup.method import Method


@dataclass(frozen=True)
class InputFile:
    """A file that was read: its source, the role it played and the product it belongs to."""

    source: Source
    role: str
    of: str


@dataclass(frozen=True, eq=False)
class SampleFindings:
    """One injected sample.

    name : the key in result names ("oil", "oil-2" for a second trace of the same product).
    following, total : the two baselines. solvent_windows_min : what was left out of every percentage.
    trace, following, total : None where a list of peaks stands in place of a trace.
    ladder, carbons, boiling_curve : None without a ladder; cuts and sensitivity are then empty.
    cut_properties : of the cuts of the headline boiling-range scheme. wax_formers : of a liquid with a ladder.
    """

    name: str
    of: str
    detector: str
    file: str
    trace: Trace | None
    following: Baseline | None
    total: Baseline | None
    peaks: PeakTable
    solvent_windows_min: tuple[tuple[float, float], ...]
    ladder: Ladder | None
    system_check: tuple[Check, ...]
    carbons: CarbonDistribution | None
    cuts: tuple[Cut, ...]
    sensitivity: tuple[Sensitivity, ...]
    boiling_curve: BoilingCurve | None = None
    properties: tuple[Property, ...] = ()
    cut_properties: tuple[CutProperties, ...] = ()
    wax_formers: WaxFormers | None = None

    @property
    def curves(self) -> tuple[Trace, Baseline, Baseline] | None:
        """Trace, following and total baseline; None where there is a list of peaks alone."""
        if self.trace is None or self.following is None or self.total is None:
            return None
        return self.trace, self.following, self.total


@dataclass(frozen=True, eq=False)
class DistillationFindings:
    """One distillation.

    name : the key in result names. entry : of the run sheet.
    agreement : with the trace of what was charged, None without one. plan : how it departed from the plan made before
    it, None where there is none.
    """

    name: str
    entry: DistillationEntry
    curve: StillCurve
    properties: tuple[Property, ...]
    agreement: Agreement | None = None
    plan: PlanComparison | None = None


@dataclass(frozen=True, eq=False)
class ElementFindings:
    """The elements of a run. balance : by element and stream. scrubber : None without one. chlorine : where it went,
    None where none was fed."""

    balance: ElementBalance
    scrubber: Scrubber | None
    chlorine: ChlorineBalance | None


@dataclass(frozen=True, eq=False)
class ColdFindings:
    """What the cold does to one liquid. name : of the sample it was read from. of : the product."""

    name: str
    of: str
    answer: ColdStorage


@dataclass(frozen=True, eq=False)
class Findings:
    """What a work-up of one run found.

    cautions : (caution) of all steps, each once, in the order in which they arose.
    cuts : of the whole run, on feed. cold : of each liquid, the main one first. monte_carlo : None unless asked for.
    energy : None where nobody asked. chlorine : None where no mass spectra were screened. workplace_air : limits of
    what was found, and of hydrogen chloride where the feed holds chlorine.
    """

    run: Run
    method: Method
    inputs: tuple[InputFile, ...]
    cautions: tuple[Caution, ...]
    balance: Balance
    samples: tuple[SampleFindings, ...]
    cuts: tuple[WholeCut, ...]
    distillations: tuple[DistillationFindings, ...] = ()
    gas: GasFindings | None = None
    cold: tuple[ColdFindings, ...] = ()
    energy: EnergyLedger | None = None
    elements: ElementFindings | None = None
    chlorine: ChlorineFindings | None = None
    workplace_air: tuple[WorkplaceRow, ...] = ()
    monte_carlo: MonteCarlo | None = None

    @property
    def curve_precision(self) -> tuple[CurvePrecision, ...]:
        """Every further boiling curve of a product against its first one."""
        return precision_of(self.samples)

    def named(self) -> dict[str, Result]:
        """Every reported number by its name in results.json ("cuts.carbon-number.gasoline.yield")."""
        return dict(self._named())

    def _named(self) -> Iterator[tuple[str, Result]]:
        balance = self.balance
        yield "balance.feed", balance.feed
        if balance.feed_dry is not None:
            yield "balance.feed_dry", balance.feed_dry
        if balance.feed_dry_ash_free is not None:
            yield "balance.feed_dry_ash_free", balance.feed_dry_ash_free
        for product in balance.products:
            at = f"balance.products.{product.fraction}"
            yield f"{at}.mass", product.mass
            yield from _yields(at, product)
        yield "balance.total", balance.total
        yield "balance.closure", balance.closure
        if balance.reconciled is not None:
            yield from _reconciled("balance.reconciled", balance.reconciled)
        for sample in self.samples:
            at = f"samples.{sample.name}"
            if sample.carbons is not None:
                for share in sample.carbons.shares:
                    label = str(share.n) if share.n is not None else share.part.replace(" ", "-")
                    yield f"{at}.carbon_numbers.{label}.mass", share.mass
                yield f"{at}.hump", sample.carbons.hump
                yield f"{at}.baseline_share", sample.carbons.baseline_share
            for point in sample.boiling_curve.points if sample.boiling_curve is not None else ():
                yield f"{at}.boiling_curve.{point.label}.temperature", point.temperature
            for one in sample.properties:
                yield f"{at}.properties.{one.name}", one.result
            for cut in sample.cuts:
                yield f"{at}.cuts.{cut.scheme}.{cut.cut}.mass", cut.mass
            for own in sample.cut_properties:
                for one in own.properties:
                    yield f"{at}.cuts.{own.scheme}.{own.cut}.properties.{one.name}", one.result
        for pair in self.curve_precision:
            for held in pair.points:
                yield f"curve_precision.{pair.name}.{held.label}.difference", held.difference
        for still in self.distillations:
            yield from _distilled(f"distillations.{still.name}", still)
        if self.gas is not None:
            yield from gas_named("gas", self.gas)
        if self.energy is not None:
            yield from energy_names("energy", self.energy)
        if self.elements is not None:
            yield from _elements(self.elements)
        yield from chlorine_names(self.chlorine, None if self.elements is None else self.elements.chlorine)
        for row in self.workplace_air:
            if row.vapour is not None:
                yield f"chlorine.workplace_air.{row.of}.{row.substance}.vapour", row.vapour
        for place, liquid in enumerate(self.cold):
            yield from _cold("cold" if place == 0 else f"cold_others.{liquid.name}", liquid.answer)
        for whole in self.cuts:
            yield from _yields(f"cuts.{whole.scheme}.{whole.cut}", whole)

    def table(self, what: str) -> pd.DataFrame:
        """A table of the findings as a pandas frame.

        Parameters
        ----------
        what : "balance", "carbon_numbers", "cuts" (whole run), "sample_cuts", "gas",
            "elements", "chlorine", "energy" or "peaks".

        Returns
        -------
        pandas.DataFrame
            One row an entry, units in the column names, standard uncertainties in columns `u_…`;
            missing values are NaN with the reason in a column of its own.
        """
        from cutbook.workup.frames import frame

        return frame(self, what)


def precision_of(samples: Sequence[SampleFindings]) -> tuple[CurvePrecision, ...]:
    """The boiling curves of products with several traces, held against each other."""
    curves = [(s.of, s.boiling_curve, s.detector) for s in samples]
    return curve_precisions([RepeatedCurve(of, curve, seen) for of, curve, seen in curves if curve is not None])


def cuts_of_samples(samples: Sequence[SampleFindings]) -> dict[str, list[tuple[Cut, ...]]]:
    """The cuts of every trace of a product, by product."""
    found: dict[str, list[tuple[Cut, ...]]] = {}
    for sample in samples:
        if sample.cuts:
            found.setdefault(sample.of, []).append(sample.cuts)
    return found


def _yields(at: str, entry: Any) -> Iterator[tuple[str, Result]]:
    yield f"{at}.yield", entry.yield_as_charged
    if entry.yield_dry is not None:
        yield f"{at}.yield_dry", entry.yield_dry
    if entry.yield_dry_ash_free is not None:
        yield f"{at}.yield_dry_ash_free", entry.yield_dry_ash_free


def _reconciled(at: str, found: Reconciliation) -> Iterator[tuple[str, Result]]:
    for one in (*found.masses, *found.shares):
        if one.reconciled.value is not None:
            yield f"{at}.{one.stream}.{one.element or 'mass'}", one.reconciled
    for imbalance in found.imbalances:
        yield f"{at}.imbalance.{imbalance.of}", imbalance.difference


def _distilled(at: str, still: DistillationFindings) -> Iterator[tuple[str, Result]]:
    curve = still.curve
    for number, point in enumerate(curve.points, 1):
        for key in ("mass_recovered", "volume_recovered", "head_temperature", "pressure", "equivalent_temperature"):
            yield f"{at}.rows.{number}.{key}", getattr(point, key)
    yield f"{at}.recovered", curve.recovered
    yield f"{at}.residue", curve.residue
    yield f"{at}.loss", curve.loss
    for key, result in zip(("recovered", "residue", "loss"), curve.by_volume or (), strict=False):
        yield f"{at}.by_volume.{key}", result
    for one in still.properties:
        yield f"{at}.properties.{one.name}", one.result
    for cut in (*curve.cuts, *curve.receivers):
        yield f"{at}.cuts.{cut.scheme}.{cut.cut}.{curve.basis}", cut.mass
    for cut in (*curve.cuts_by_volume, *curve.receivers_by_volume):
        yield f"{at}.cuts.{cut.scheme}.{cut.cut}.volume", cut.mass
    if still.agreement is not None:
        yield from _agreed(f"{at}.agreement", still.agreement)
    for share in still.plan.cuts if still.plan is not None else ():
        yield f"{at}.plan.{share.cut}.difference", share.difference


def _elements(found: ElementFindings) -> Iterator[tuple[str, Result]]:
    for element, line in found.balance.lines.items():
        for key in ("fed", "found", "closure"):
            yield f"elements.{element}.{key}", getattr(line, key)
    for one in found.balance.implied:
        yield f"elements.{one.element}.implied.{one.name}", one.share
    if found.scrubber is not None:
        yield "elements.scrubber.chlorine", found.scrubber.chlorine
        yield "elements.scrubber.hydrogen_chloride", found.scrubber.hydrogen_chloride
        if found.scrubber.last_share is not None:
            yield "elements.scrubber.last_share", found.scrubber.last_share
        for place, bottle in enumerate(found.scrubber.bottles, 1):
            yield f"elements.scrubber.bottles.{place}.chlorine", bottle.chlorine
            if bottle.titre is not None:
                yield f"elements.scrubber.bottles.{place}.titre", bottle.titre


def _cold(at: str, answer: ColdStorage) -> Iterator[tuple[str, Result]]:
    yield f"{at}.wax_appearance", answer.shown
    if answer.shown is not answer.appearance:
        yield f"{at}.wax_appearance_estimated", answer.appearance
    for name, result in answer.measured:
        yield f"{at}.measured.{name}", result
    if answer.difference is not None:
        yield f"{at}.difference", answer.difference
    for gel in answer.gel:
        yield f"{at}.gel.{gel.share:g}.temperature", gel.temperature
    if answer.at_storage is not None:
        yield f"{at}.at_storage.solid", answer.at_storage.solid
        yield f"{at}.at_storage.warm_to", answer.at_storage.warm_to
    for point in answer.points:
        yield f"{at}.solid.{point.label}.mass", point.mass


def _agreed(at: str, agreement: Agreement) -> Iterator[tuple[str, Result]]:
    yield f"{at}.median", agreement.median
    yield f"{at}.worst", agreement.worst
    for name, end in (("light_end", agreement.light_end), ("heavy_end", agreement.heavy_end)):
        yield f"{at}.{name}.still", end.still
        yield f"{at}.{name}.trace", end.trace
        yield f"{at}.{name}.difference", end.difference
    for point in agreement.points:
        yield f"{at}.points.{point.recovered:g}.trace", point.trace
        yield f"{at}.points.{point.recovered:g}.difference", point.difference
