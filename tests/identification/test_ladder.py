"""A ladder is numbered on two independent signs, or refused."""

import csv
from pathlib import Path

import numpy as np
import pytest

from cutbook.identification.ladder import KnownPeak, LadderSettings, number_ladder
from cutbook.identification.rungs import count_steps
from cutbook.identification.spacing import alkane_parameters, elution_times, spacing_trend
from cutbook.model.errors import LadderError
from cutbook.model.lineage import Step
from cutbook.model.peaks import Peak, PeakTable

PUBLISHED = Path(__file__).parents[1] / "published" / "data" / "06_ladder_retention_times.csv"


PLAIN = LadderSettings()


def rows():
    with PUBLISHED.open(encoding="utf-8") as file:
        return list(csv.DictReader(file))


def published_ladder():
    alkanes = [row for row in rows() if row["carbon_number"]]
    return tuple(int(row["carbon_number"]) for row in alkanes), np.array([float(row["value"]) for row in alkanes])


def peak(apex, area=100.0, half_width=0.03, flags=()):
    return Peak(
        start_min=apex - 3 * half_width,
        apex_min=apex,
        end_min=apex + 3 * half_width,
        area=area,
        u_area=0.1,
        height=area / half_width,
        half_width_min=half_width,
        tailing=1.0,
        resolution=None,
        signal_to_noise=1000.0,
        area_rule="isolated",
        flags=flags,
    )


def table(times, areas=None, extra=()):
    areas = np.full(len(times), 100.0) if areas is None else areas
    peaks = [peak(float(t), float(a)) for t, a in zip(times, areas, strict=True)] + list(extra)
    return PeakTable(tuple(sorted(peaks, key=lambda p: p.apex_min)), "pA", Step("test"))


def long_ladder(first=7, last=40, ramp=8.0):
    carbons = tuple(range(first, last + 1))
    return carbons, elution_times(alkane_parameters(np.array(carbons, dtype=float)), 40, 1, ramp, 1.2)


def doubled(carbons, at=(10, 20, 30)):
    return np.array([200.0 if n in at else 100.0 for n in carbons])


def number(times, areas=None, declared=(), solvent="", windows=(), extra=(), settings=PLAIN):
    return number_ladder(table(times, areas, extra), "ladder.csv", tuple(declared), solvent, windows, settings)


def test_declared_carbons_and_the_published_spacing_number_the_ladder():
    carbons, times = published_ladder()
    ladder = number(times, declared=carbons)
    assert ladder.carbons == carbons
    assert {s.name for s in ladder.signs if s.verdict == "agrees"} == {"declared carbons", "spacing trend"}
    assert "ladder.spacing_only" in {c.code for c in ladder.step.all_cautions()}


@pytest.mark.parametrize("shift", [-2, -1, 1, 2])
def test_declaration_off_by_one_or_two_is_refused_on_the_published_ladder(shift):
    carbons, times = published_ladder()
    with pytest.raises(LadderError, match="two independent signs"):
        number(times, declared=[n + shift for n in carbons])


@pytest.mark.parametrize("shift", [-5, -1, 1, 5])
@pytest.mark.parametrize("ramp", [5.0, 8.0, 15.0, 25.0])
def test_declaration_off_by_one_or_five_is_refused_when_c10_c20_c30_are_doubled(shift, ramp):
    carbons, times = long_ladder(ramp=ramp)
    areas = doubled(carbons)
    assert number(times, areas, declared=carbons).carbons == carbons
    with pytest.raises(LadderError, match="doubled peaks: contradicts"):
        number(times, areas, declared=[n + shift for n in carbons])


def test_pattern_alone_numbers_a_ladder_with_doubled_rungs_and_missing_carbons():
    carbons, times = long_ladder()
    kept = [n not in (11, 19, 31, 33) for n in carbons]
    areas = doubled(carbons)
    ladder = number(times[kept], areas[kept])
    assert ladder.carbons == tuple(n for n, k in zip(carbons, kept, strict=True) if k)


def test_equal_rungs_without_declaration_are_refused():
    carbons, times = long_ladder()
    with pytest.raises(LadderError, match="ladder_carbons"):
        number(times)


def test_gap_pattern_is_a_second_sign_and_a_wrong_gap_is_refused():
    carbons = (8, 9, 10, 11, 12, 14, 15, 16, 18, 19, 20)
    times = elution_times(alkane_parameters(np.array(carbons, dtype=float)), 40, 1, 8, 1.2)
    assert "gap pattern" in {s.name for s in number(times, declared=carbons).signs if s.verdict == "agrees"}
    wrong = (8, 9, 10, 11, 12, 13, 15, 16, 18, 19, 20)
    with pytest.raises(LadderError, match="gap pattern: contradicts"):
        number(times, declared=wrong)


def test_known_peak_is_a_second_sign_either_way():
    carbons, _ = long_ladder()
    times = 1.5 * np.array(carbons, dtype=float)  # isothermal-like: the spacing tells nothing
    with pytest.raises(LadderError):
        number(times, declared=carbons)
    right = LadderSettings(known_peak=KnownPeak(16, float(times[carbons.index(16)])))
    assert number(times, declared=carbons, settings=right).carbons == carbons
    wrong = LadderSettings(known_peak=KnownPeak(16, float(times[carbons.index(17)])))
    with pytest.raises(LadderError, match="known peak: contradicts"):
        number(times, declared=carbons, settings=wrong)


def test_one_rung_more_than_declared_is_refused():
    carbons, times = long_ladder(8, 24)
    areas = np.full(len(carbons), 100.0)
    areas[0] = 95.0  # the first rung is the smallest, so picking the largest would drop it
    with pytest.raises(LadderError, match="more peaks of that size"):
        number(times, areas, declared=carbons[1:])


def test_solvent_and_impurities_are_not_rungs():
    carbons, times = long_ladder()
    extra = [peak(1.6, area=50_000.0), *[peak(t + 0.4, area=4.0) for t in times[3:20]]]
    ladder = number(times, doubled(carbons), declared=carbons, extra=extra)
    assert ladder.carbons == carbons


def test_hexane_as_solvent_speaks_for_or_against_a_numbering():
    carbons, times = long_ladder(7, 24)
    hexane = float(elution_times(alkane_parameters(np.array([6.0])), 40, 1, 8, 1.2)[0])
    extra = [peak(hexane, area=20_000.0)]
    ladder = number(times, declared=carbons, solvent="hexane", extra=extra)
    assert "solvent" in {s.name for s in ladder.signs if s.verdict == "agrees"}
    with pytest.raises(LadderError, match="solvent: contradicts"):
        number(times, declared=[n + 1 for n in carbons], solvent="hexane", extra=extra)


def test_steps_are_counted_across_even_carbons_and_an_initial_hold():
    carbons = np.array([6, 7, 8, 9, 10, 11, 12, 14, 16, 18, 20, 22, 24, 28, 32, 36, 40], dtype=float)
    times = elution_times(alkane_parameters(carbons), 40, 2, 10, 1.2)
    assert count_steps(times) == tuple(int(step) for step in np.diff(carbons))


def test_elution_times_reproduce_the_published_ladder_from_its_own_parameters():
    alkanes = [row for row in rows() if row["carbon_number"]]
    parameters = np.array([[float(row[key]) for row in alkanes] for key in ("tchar_c", "theta_k", "dcp")])
    _, published = published_ladder()
    assert elution_times(parameters, 40, 2, 10, 1.2) == pytest.approx(published, abs=0.002)


def test_spacing_of_the_published_ladder_of_another_column_fits_its_numbering():
    carbons, times = published_ladder()
    assert abs(spacing_trend(carbons, times).shift) <= 0.5


def test_stretching_or_delaying_a_ladder_changes_no_spacing_verdict():
    carbons, times = long_ladder()
    plain = spacing_trend(carbons, times)
    assert spacing_trend(carbons, 3.0 * times + 7.0).shift == pytest.approx(plain.shift)


def test_changing_a_setting_changes_the_id_of_the_ladder():
    carbons, times = published_ladder()
    one = number(times, declared=carbons)
    two = number(times, declared=carbons, settings=LadderSettings(u_time_min=0.02))
    assert one.step.id != two.step.id
    assert one.step.inputs[0].id == two.step.inputs[0].id
