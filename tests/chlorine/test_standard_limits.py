"""Limits that standards tell by themselves: by their line, by replicates, in the oil's unit, with their caution."""

import math

import numpy as np
import pytest
from scipy.stats import t
from screened import a_run, a_screened

from cutbook.chlorine.concentration import quantify
from cutbook.chlorine.screened_oil import Laboratory, OilSettings, screened_oil
from cutbook.chlorine.standard_limits import line_limit_cautions, standard_limits
from cutbook.quantitation.calibration import CalibrationPoint, CalibrationSettings, calibrate
from cutbook.reporting.cautions import put_into_words
from cutbook.workup.method import Method

LEVELS = np.array([1.0, 2.0, 5.0, 10.0, 20.0])
RESPONSES = np.array([61.0, 118.0, 305.0, 592.0, 1210.0])
REPLICATES = np.array([58.0, 63.0, 61.0, 59.5, 60.5, 62.0, 57.0])
PER = 60.0


def a_line(replicates=(), weighting="equal"):
    points = [CalibrationPoint(float(x), float(y)) for x, y in zip(LEVELS, RESPONSES, strict=True)]
    points += [CalibrationPoint(1.0, float(y)) for y in replicates]
    return calibrate("chlorobenzene", points, CalibrationSettings(weighting=weighting))


def a_quantified(replicates=(), **oil):
    """An oil, 1 g in 9 g of solvent, read off standards in mg/kg of solution."""
    held = [(x, y) for x, y in zip(LEVELS, RESPONSES, strict=True)] + [(1.0, y) for y in replicates]
    standards = [
        a_run([a_screened("chlorobenzene", "confirmed", float(y), 1.0)], file=f"std-{n}.mzML", role="standard", of="",
              amounts=(("chlorobenzene", f"{x:.3f} mg/kg"),))
        for n, (x, y) in enumerate(held)
    ]  # fmt: skip
    sample = a_run([a_screened("chlorobenzene", "confirmed", 300.0, 2.0, **oil)], solvent="pentane",
                   sample="1.0000 g", added="9.0000 g")  # fmt: skip
    return quantify(sample, standards), sample, standards


def test_limit_of_the_line_is_where_its_band_parts_from_a_blank():
    found = standard_limits("chlorobenzene", a_line(), 1.0, "mg/kg", "oil")
    # Hubaux and Vos 1970, by the definition, with numpy's fit
    slope, start = np.polyfit(LEVELS, RESPONSES, 1)
    degrees = len(LEVELS) - 2
    scatter = math.sqrt(np.sum((RESPONSES - start - slope * LEVELS) ** 2) / degrees)
    squares = np.sum((LEVELS - LEVELS.mean()) ** 2)

    def band(at):
        return t.ppf(0.95, degrees) * scatter * math.sqrt(1 + 1 / len(LEVELS) + (at - LEVELS.mean()) ** 2 / squares)

    limit = found.by_line.value
    assert slope * limit - band(limit) == pytest.approx(band(0.0), rel=1e-9)
    assert found.by_replicates is None
    assert found.replicates == 0


def test_scale_turns_it_into_the_unit_of_the_oil():
    plain = standard_limits("chlorobenzene", a_line(), 1.0, "mg/kg", "oil")
    assert standard_limits("chlorobenzene", a_line(), 10.0, "mg/kg", "oil").by_line.value == pytest.approx(
        10 * plain.by_line.value
    )
    (one,), _, _ = a_quantified()
    in_solution = standard_limits("chlorobenzene", a_line(weighting="1/x"), 1.0, "mg/kg", "oil").by_line.value
    assert one.standards.by_line.value == pytest.approx(10 * in_solution, rel=1e-6)  # 1 g of oil in 10 g
    assert one.standards.by_line.unit == "mg/kg"


def test_seven_replicates_give_the_method_limit_and_six_do_not():
    line = a_line(REPLICATES[:6])
    found = standard_limits("chlorobenzene", line, 1.0, "mg/kg", "oil")
    all_seven = np.append(RESPONSES[0], REPLICATES[:6])  # the level itself is one of them
    assert found.replicates == 7
    # 40 CFR 136, Appendix B: t(6, 99 %) = 3.143
    assert found.by_replicates.value == pytest.approx(3.143 * all_seven.std(ddof=1) / line.slope, rel=3e-4)
    assert found.quantitation.value == pytest.approx(10 * all_seven.std(ddof=1) / line.slope)
    assert found.interval[0] < found.by_replicates.value < found.interval[1]
    few = standard_limits("chlorobenzene", a_line(REPLICATES[:5]), 1.0, "mg/kg", "oil")
    assert few.by_replicates is None


def test_too_few_standards_tell_nothing_and_a_wild_line_says_so():
    two = calibrate("chlorobenzene", [CalibrationPoint(1.0, 60.0)])
    assert standard_limits("chlorobenzene", two, 1.0, "mg/kg", "oil") is None
    wild = [CalibrationPoint(x, y) for x, y in ((1.0, 10.0), (2.0, 45.0), (3.0, 12.0), (4.0, 60.0))]
    line = calibrate("chlorobenzene", wild, CalibrationSettings(weighting="equal", significance=0.5))
    found = standard_limits("chlorobenzene", line, 1.0, "mg/kg", "oil")
    assert found.by_line.reason == "chlorine.no_line_limit"
    assert [one.code for one in found.by_line.step.cautions] == ["chlorine.no_line_limit"]


def test_an_isomer_and_a_surrogate_lend_no_limit():
    oil = a_run([a_screened("4-chlorotoluene", "confirmed", 300.0, 2.0)])
    standards = [
        a_run([a_screened("2-chlorotoluene", "confirmed", float(y), 1.0)], file=f"std-{x:g}.mzML", role="standard",
              of="", amounts=(("2-chlorotoluene", f"{x:.3f} mg/kg"),))
        for x, y in zip(LEVELS, RESPONSES, strict=True)
    ]  # fmt: skip
    assert quantify(oil, standards)[0].standards is None
    assert quantify(oil)[0].standards is None


def test_one_note_sets_the_limits_of_the_standards_beside_those_in_the_oil():
    targets, sample, standards = a_quantified(limit_area=300.0)
    (told,) = [put_into_words(one) for one in line_limit_cautions(targets, "oil")]
    value, in_oil = targets[0].standards.by_line.value, targets[0].detection_limit.value
    assert in_oil > value
    assert f"chlorobenzene {value:.2g} (in this oil {float(f'{in_oil:.2g}'):g})" in told.text
    assert "no limit of the oil" in told.means
    method = Method()
    settings = OilSettings(method.concentration, method.calibration, method.surrogate, method.organic_chlorine)
    oil, _ = screened_oil(sample, standards, (), Laboratory(), "run.toml", settings)
    assert "chlorine.limit_of_standards" in {one.code for one in oil.step.all_cautions()}
    assert line_limit_cautions(quantify(sample), "oil") == ()
