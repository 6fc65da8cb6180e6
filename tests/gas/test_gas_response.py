"""How a detector answers, and when: gas standards, tables of responses, times of peaks."""

import csv
from pathlib import Path

import numpy as np
import pytest
from gas_traces import (
    ANSWERS,
    SAMPLE,
    STANDARD,
    TIMES,
    a_trace,
    certified,
    codes,
    gas_of,
    peaks_of,
    reading,
    responses,
)

from cutbook.gas.detector_reading import SampleRun, read_detector
from cutbook.gas.gas_response import Certified, StandardRun, detector_responses, relative_response, response_of
from cutbook.gas.peak_times import PeakTimeSettings, tell_peaks
from cutbook.model.amount import budget, nominal
from cutbook.model.errors import InputError
from cutbook.model.gas import GasPeak, GasPeaks
from cutbook.model.lineage import Step
from cutbook.model.tables import reference
from cutbook.quantitation.response import effective_carbon_number


def test_a_drift_has_to_earn_a_component():
    peaks = [GasPeak(time, 1.0, 0.01, 0.05) for time in (1.0, 2.0, 3.15)]
    told = tell_peaks({"methane": 1.0, "ethane": 2.0, "ethene": 3.0}, peaks)
    assert set(told.peaks) == {"methane", "ethane"}
    assert told.drift == 1.0


def test_a_large_drift_has_to_earn_more():
    # a tenth off tells two of the peaks, no drift tells one: not enough
    peaks = [GasPeak(time, 1.0, 0.01, 0.05) for time in (1.0, 2.2, 3.3)]
    told = tell_peaks({"methane": 1.0, "ethane": 2.0, "ethene": 3.0}, peaks)
    assert set(told.peaks) == {"methane"}
    # with one more it is
    peaks = [GasPeak(time, 1.0, 0.01, 0.05) for time in (1.1, 2.2, 3.3, 4.4)]
    told = tell_peaks({"methane": 1.0, "ethane": 2.0, "ethene": 3.0, "propane": 4.0}, peaks)
    assert {name: peak.apex_min for name, peak in told.peaks.items()} == {
        "methane": 1.1, "ethane": 2.2, "ethene": 3.3, "propane": 4.4
    }  # fmt: skip


def test_the_bent_answer_of_hydrogen_is_one_doubt_in_every_repeat():
    shares = {"nitrogen": 0.5, "hydrogen": 0.3, "methane": 0.2}
    known = responses("TCD", shares)
    spread = []
    for seeds in ((11,), (11, 12, 13, 14)):
        share = reading("TCD", shares, known, seeds=seeds).shares["hydrogen"]
        spread.append(dict(budget(share))["bent response of hydrogen"] / nominal(share))
    assert spread == pytest.approx([0.10, 0.10], rel=1e-6)


def test_two_components_never_share_a_peak():
    told = tell_peaks({"methane": 1.00, "ethane": 1.03}, [GasPeak(1.02, 1.0, 0.01, 0.06)])
    assert set(told.peaks) == {"ethane"}


def test_hydrogen_never_gets_a_response_from_a_table():
    told = reading("TCD", {**SAMPLE, "hydrogen": 0.3}, responses("TCD", times={"hydrogen": 0.9}))
    assert told.unknown == ("hydrogen",)
    found = gas_of(told)
    assert found.composition.not_given == ("hydrogen",)
    assert "gas.no_response" in codes(found)


def test_peaks_told_by_their_order_need_as_many_peaks_and_a_caution():
    found = responses("TCD", timed=False)
    assert {one.code for one in found.cautions} == {"gas.told_by_order"}
    assert nominal(found.by_component["methane"].amount) == pytest.approx(ANSWERS["TCD"]["methane"], rel=0.01)
    with pytest.raises(InputError, match="8 peaks .* for 7 components without a retention time"):
        responses("TCD", timed=False, extra=((8.4, 1.0),))


def test_a_time_without_a_peak_is_one_line_with_the_times_there_are():
    wrong = tuple(
        Certified(n, certified(x), TIMES["TCD"][n] + (0.5 if n == "methane" else 0)) for n, x in SAMPLE.items()
    )
    run = StandardRun(peaks_of(a_trace("TCD", SAMPLE)), wrong, "[[trace]] 2")
    with pytest.raises(InputError, match=r"\[\[trace\]\] 2, methane: found no peak at 3.40 min; peaks at 2.11"):
        detector_responses("TCD", "helium", [run], "gas", PeakTimeSettings())


def test_relative_responses_are_for_helium_only():
    amount = response_of("propane", responses("TCD"))
    assert amount is not None
    assert response_of("propane", responses("TCD", carrier="argon")) is None
    told = reading("TCD", SAMPLE, responses("TCD", carrier="", times={"propane": 8.4}))
    assert "gas.carrier_not_stated" in codes(gas_of(told))


def test_repeats_that_scatter_widen_the_doubt_and_are_told():
    amounts = tuple(Certified(n, certified(x), TIMES["TCD"][n]) for n, x in STANDARD["TCD"].items())
    runs = [
        StandardRun(peaks_of(a_trace("TCD", STANDARD["TCD"], seed=seed, scale=scale)), amounts, "[[trace]] 2")
        for seed, scale in ((1, 0.95), (2, 1.05))
    ]
    found = detector_responses("TCD", "helium", runs, "gas", PeakTimeSettings())
    # two values 5 % either side of their mean: a standard deviation of 5 % times √2
    assert found.repeat_u == pytest.approx(0.05 * 2**0.5, rel=0.02)
    assert "gas.repeats_scatter" in {one.code for one in found.cautions}


def test_area_over_response_made_one_hundred_is_the_example_of_the_literature():
    """05_detector_responses.csv, TCD normalisation example: mole % = (area/response)/sum (the rule is Dietz 1967, the
    responses of the rows are from memory): area % in, mole % out, with one component in the standard."""
    text = (Path(__file__).parent / "tcd_normalisation.csv").read_text(encoding="utf-8")
    rows = list(csv.DictReader(text.splitlines()))
    assert len(rows) == 5
    times = {row["species"]: 1.0 + number for number, row in enumerate(rows)}

    def listed(areas):
        peaks = tuple(GasPeak(times[name], area, 1e-9, 0.1) for name, area in areas.items())
        return GasPeaks("list.csv", peaks, None, 0.1, 0.0, 9.0, Step("given/1"))

    anchor = StandardRun(listed({"methane": 35.7}), (Certified("methane", certified(1.0), times["methane"]), *(
        Certified(name, None, time) for name, time in times.items() if name != "methane"
    )), "")  # fmt: skip
    found = detector_responses("TCD", "helium", [anchor], "gas", PeakTimeSettings())
    assert set(found.times_min) == set(times)
    run = SampleRun(listed({row["species"]: float(row["area_percent"]) for row in rows}), times)
    gas = gas_of(read_detector([run], found, [], [""], "gas"))
    for row in rows:
        # the areas have four decimals; the sum of the rows' shares is 100
        assert 100 * nominal(gas.composition.shares[row["species"]]) == pytest.approx(
            float(row["mole_percent"]), abs=2e-3
        )


SMILES = {
    "methane": "C", "ethane": "CC", "propane": "CCC", "isobutane": "CC(C)C", "n-pentane": "CCCCC", "ethene": "C=C",
    "propene": "CC=C", "1-butene": "CCC=C", "isobutene": "CC(C)=C", "1,3-butadiene": "C=CC=C", "ethyne": "C#C",
    "propyne": "CC#C", "benzene": "c1ccccc1", "toluene": "Cc1ccccc1", "cyclohexane": "C1CCCCC1", "1-pentene": "CCCC=C",
}  # fmt: skip


@pytest.mark.parametrize("name", SMILES)
def test_effective_carbons_of_the_table_follow_from_the_structure(name):
    assert relative_response(name, "FID") == pytest.approx(effective_carbon_number(SMILES[name]))


def test_every_row_of_the_table_is_a_known_component():
    known = {row["name"] for row in reference("gas_components").rows}
    assert {row["name"] for row in reference("gas_responses").rows} <= known


def test_the_responses_of_a_homologous_series_rise_evenly():
    """Molar responses of n-alkanes to thermal conductivity rise by an almost constant step a carbon (Dietz 1967)."""
    names = ("methane", "ethane", "propane", "n-butane", "n-pentane", "n-hexane")
    steps = np.diff([relative_response(name, "TCD") for name in names])
    assert steps.min() > 12
    assert steps.max() < 22
