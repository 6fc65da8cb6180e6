"""All settings of a work-up in one record."""

from __future__ import annotations

from dataclasses import dataclass

from cutbook.balance.element_balance import ElementBalanceSettings
from cutbook.balance.energy_ledger import EnergySettings
from cutbook.balance.feed_elements import FeedElementSettings
from cutbook.balance.heating_value import HeatingValueSettings
from cutbook.balance.implied_composition import ImpliedSettings
from cutbook.balance.mass_balance import BalanceSettings
from cutbook.balance.process_heat import ProcessHeatSettings
from cutbook.balance.propagation_check import MonteCarloSettings
from cutbook.balance.run_reconciliation import ReconciliationSettings
from cutbook.balance.scrubber import ScrubberSettings
from cutbook.balance.stream_elements import StreamElementSettings
from cutbook.chlorine.organic_chlorine import OrganicChlorineSettings
from cutbook.chlorine.responses import ConcentrationSettings
from cutbook.chlorine.surrogate import SurrogateSettings
from cutbook.chlorine.where_distilled import WhereDistilledSettings
from cutbook.chromatogram.blank_baseline import BlankBaselineSettings
from cutbook.chromatogram.bleed_baseline import BleedBaselineSettings
from cutbook.chromatogram.integration import IntegrationSettings
from cutbook.chromatogram.listed_areas import ListedAreaSettings
from cutbook.coldflow.cold_doubts import ColdSettings
from cutbook.coldflow.wax_formers import WaxFormerSettings
from cutbook.fractions.agreement import AgreementSettings
from cutbook.fractions.boiling_curve import BoilingCurveSettings
from cutbook.fractions.carbon_bins import CarbonBinSettings
from cutbook.fractions.cut_schemes import CutSettings
from cutbook.fractions.fuel_properties import PropertySettings
from cutbook.fractions.light_ends import LightEndSettings
from cutbook.fractions.plan_comparison import PlanComparisonSettings
from cutbook.fractions.sensitivity import SensitivitySettings
from cutbook.fractions.still_curve import StillSettings
from cutbook.gas.air import AirSettings
from cutbook.gas.amount import AmountSettings
from cutbook.gas.calorific import CalorificSettings
from cutbook.gas.composition import CompositionSettings
from cutbook.gas.gas_peaks import GasPeakSettings
from cutbook.gas.meter import MeterSettings
from cutbook.gas.purge import PurgeSettings
from cutbook.gas.traced_gas import TracedGasSettings
from cutbook.identification.ladder import LadderSettings
from cutbook.identification.system_check import SystemCheckSettings
from cutbook.quantitation.calibration import CalibrationSettings
from cutbook.quantitation.internal_standard import InternalStandardSettings
from cutbook.quantitation.mass_slices import ResponseSettings
from cutbook.quantitation.solvent import SolventSettings


@dataclass(frozen=True)
class Method:
    """How a run is worked up; every part is described beside the function that obeys it."""

    integration: IntegrationSettings = IntegrationSettings()
    blank: BlankBaselineSettings = BlankBaselineSettings()
    bleed: BleedBaselineSettings = BleedBaselineSettings()
    solvent: SolventSettings = SolventSettings()
    listed_areas: ListedAreaSettings = ListedAreaSettings()
    ladder: LadderSettings = LadderSettings()
    system_check: SystemCheckSettings = SystemCheckSettings()
    internal_standard: InternalStandardSettings = InternalStandardSettings()
    response: ResponseSettings = ResponseSettings()
    bins: CarbonBinSettings = CarbonBinSettings()
    boiling_curve: BoilingCurveSettings = BoilingCurveSettings()
    properties: PropertySettings = PropertySettings()
    cuts: CutSettings = CutSettings()
    sensitivity: SensitivitySettings = SensitivitySettings()
    wax_formers: WaxFormerSettings = WaxFormerSettings()
    cold: ColdSettings = ColdSettings()
    light_ends: LightEndSettings = LightEndSettings()
    still: StillSettings = StillSettings()
    agreement: AgreementSettings = AgreementSettings()
    plan_comparison: PlanComparisonSettings = PlanComparisonSettings()
    gas_composition: CompositionSettings = CompositionSettings()
    gas_peaks: GasPeakSettings = GasPeakSettings()
    traced_gas: TracedGasSettings = TracedGasSettings()
    air: AirSettings = AirSettings()
    gas_meter: MeterSettings = MeterSettings()
    purge: PurgeSettings = PurgeSettings()
    gas_amount: AmountSettings = AmountSettings()
    calorific: CalorificSettings = CalorificSettings()
    balance: BalanceSettings = BalanceSettings()
    reconciliation: ReconciliationSettings = ReconciliationSettings()
    heating_value: HeatingValueSettings = HeatingValueSettings()
    process_heat: ProcessHeatSettings = ProcessHeatSettings()
    energy: EnergySettings = EnergySettings()
    monte_carlo: MonteCarloSettings = MonteCarloSettings()
    scrubber: ScrubberSettings = ScrubberSettings()
    feed_elements: FeedElementSettings = FeedElementSettings()
    stream_elements: StreamElementSettings = StreamElementSettings()
    element_balance: ElementBalanceSettings = ElementBalanceSettings()
    implied: ImpliedSettings = ImpliedSettings()
    calibration: CalibrationSettings = CalibrationSettings()
    concentration: ConcentrationSettings = ConcentrationSettings()
    surrogate: SurrogateSettings = SurrogateSettings()
    organic_chlorine: OrganicChlorineSettings = OrganicChlorineSettings()
    chlorine_in_cuts: WhereDistilledSettings = WhereDistilledSettings()
