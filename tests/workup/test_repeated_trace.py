"""An oil that was injected twice, and one whose density was or was not measured, through the whole work-up."""

import shutil
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from cutbook import read_run, work_up
from cutbook.model.entered import Entered
from cutbook.model.tables import reference
from cutbook.workup.plan_run import PlanRequest, plan_run

EXAMPLE = Path(__file__).parents[2] / "examples" / "crate-oil"
ENTRY = '\n[[trace]]\nfile = "traces/again.csv"\nrole = "sample"\ndetector = "FID"\nof = "oil"\nladder = "{ladder}"\n'


DENSITY = 'density = "0.791 ± 0.001 g/mL"     # hydrometer, 15 °C\n'


@pytest.fixture(scope="module")
def first():
    return work_up(read_run(EXAMPLE))


@pytest.fixture(scope="module")
def unmeasured(tmp_path_factory):
    """The same without the density of its oil."""
    folder = tmp_path_factory.mktemp("unmeasured") / "run"
    shutil.copytree(EXAMPLE, folder, ignore=shutil.ignore_patterns("results"))
    sheet = folder / "run.toml"
    text = sheet.read_text(encoding="utf-8")
    assert DENSITY in text
    sheet.write_text(text.replace(DENSITY, ""), encoding="utf-8")
    return work_up(read_run(folder))


def again(folder, first, stretch=1.0, more=0.0):
    """The run with a second trace of its oil: the first one's signal and `more` to it, its times stretched."""
    shutil.copytree(EXAMPLE, folder, ignore=shutil.ignore_patterns("results"))
    sample = first.samples[0]
    entry = first.run.entry(sample.file)
    table = np.column_stack([sample.trace.time_min * stretch, sample.trace.signal + more])
    np.savetxt(folder / "traces" / "again.csv", table, delimiter=",", header="time (min),signal (pA)", comments="")
    sheet = folder / "run.toml"
    entered = ENTRY.format(ladder=entry.ladder)
    if entry.blank:
        entered += f'blank = "{entry.blank}"\n'
    if entry.solvent:
        entered += f'solvent = "{entry.solvent}"\n'
    sheet.write_text(sheet.read_text(encoding="utf-8") + entered, encoding="utf-8")
    return work_up(read_run(folder))


def test_the_same_trace_again_is_within_the_repeatability(tmp_path, first):
    found = again(tmp_path / "run", first)
    (pair,) = found.curve_precision
    assert (pair.first, pair.second, pair.limit) == ("oil", "oil-2", "repeatability")
    compared = [one for one in pair.points if one.within is not None]
    assert len(compared) >= 10
    assert all(one.within for one in compared)
    assert "boiling.precision_exceeded" not in {one.code for one in found.cautions}


def test_a_shift_of_retention_is_beyond_it_and_told(tmp_path, first):
    # 0.5 % later: at 20 min 0.1 min, at which the boiling point rises by about a degree
    found = again(tmp_path / "run", first, stretch=1.005)
    told = [one for one in found.cautions if one.code == "boiling.precision_exceeded"]
    assert [one.about for one in told] == ["oil and oil-2"]
    assert told[0].facts["count"] >= 3


def test_cuts_of_a_sample_have_properties_and_those_of_the_light_ones_warn(unmeasured):
    oil = unmeasured.samples[0]
    by_cut = {one.cut: {p.name: p.result for p in one.properties} for one in oil.cut_properties}
    assert set(by_cut) == {cut.cut for cut in oil.cuts if cut.scheme == "boiling-range"}
    assert by_cut["gasoline"]["density"].value < by_cut["diesel"]["density"].value < by_cut["wax"]["density"].value
    codes = {(one.code, one.about) for one in unmeasured.cautions}
    assert ("safety.flash_estimate", "oil, gasoline") in codes
    assert ("properties.density_estimated", "oil") in codes


def test_a_plan_rests_on_the_same_density_as_the_properties(first, unmeasured):
    request = PlanRequest(cuts=("gasoline",))
    measured, assumed = (plan_run(one, request).composition for one in (first, unmeasured))
    assert 1.0 / sum(part.mass_share / part.density_g_ml for part in measured.components) == pytest.approx(0.791)
    rows = reference("oil_watson_k").by("polymer")
    fed = {one.material: one.mass.value for one in first.run.feeds}  # polyethylene and polypropylene
    mean = (fed["HDPE"] * float(rows["PE"]["watson_k"]) + fed["PP"] * float(rows["PP"]["watson_k"])) / sum(fed.values())
    assert assumed.watson_k == pytest.approx(mean)
    assert (measured.density_known, assumed.density_known) == (True, False)


def test_a_gravity_stated_alone_serves_a_plan_as_well(first):
    run = first.run
    oil = run.product("oil")
    # 141.5/(47.3 + 131.5) of water, 0.7914, in g/mL
    stated = replace(oil, density=None, measured={"api_gravity": Entered(47.3, 0.1, "°API", "47.3 °API", True)})
    products = tuple(stated if one is oil else one for one in run.products)
    found = plan_run(replace(first, run=replace(run, products=products)), PlanRequest(cuts=("gasoline",)))
    parts = found.composition.components
    assert found.composition.density_known
    assert 1.0 / sum(part.mass_share / part.density_g_ml for part in parts) == pytest.approx(
        0.7914 * 0.999016, abs=1e-4
    )


def test_a_density_in_the_run_sheet_ends_the_assumption(first):
    found = first
    assert "properties.density_estimated" not in {one.code for one in found.cautions if one.about == "oil"}
    named = found.named()
    assert named["samples.oil.properties.watson_k"].value is not None
    methods = [one.method for cut in found.samples[0].cut_properties for one in cut.properties if one.name == "density"]
    assert any(method.endswith("that of the whole sample") for method in methods)
    assert not any("assumed" in method for method in methods)
    assert all("density estimated" not in one.method for one in found.samples[0].properties)


def test_a_peak_where_benzene_elutes_is_told_of_the_sample_that_has_it(tmp_path, first):
    sample = first.samples[0]
    ladder, trace = sample.ladder, sample.trace
    at = float(np.interp(6.62, ladder.carbons, ladder.times_min))  # retention index 662
    share = 0.03 * sum(peak.area for peak in sample.peaks)
    bell = np.exp(-0.5 * ((trace.time_min - at) / 0.02) ** 2) / (0.02 * np.sqrt(2 * np.pi))
    found = again(tmp_path / "run", first, more=share * bell)
    told = [one for one in found.cautions if one.code == "safety.benzene_window"]
    assert [one.about for one in told] == ["oil-2"]
    assert 1.0 < float(told[0].facts["share"]) < 4.0
    assert told[0].facts["cut"] == "gasoline"
    assert float(told[0].facts["of_cut"]) > float(told[0].facts["share"])
