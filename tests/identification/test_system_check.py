"""The system check reads resolution and response as the standards define them."""

import numpy as np
import pytest

from cutbook.identification.system_check import system_check
from cutbook.model.ladder import Ladder, Rung
from cutbook.model.lineage import Step
from cutbook.model.peaks import Peak


def ladder_of(areas, carbons, half_width=0.04, tailing=1.1):
    rungs = []
    for n, area in zip(carbons, areas, strict=True):
        t = 1.2 * n
        shape = Peak(t - 0.1, t, t + 0.1, area, 0.1, 100.0, half_width, tailing, None, 500.0, "isolated")
        rungs.append(Rung(n, shape))
    return Ladder("ladder.csv", tuple(rungs), (), 0.01, np.arange(len(rungs), dtype=float), "test", Step("test"))


def by_start(checks, start):
    return next(check for check in checks if check.name.startswith(start))


def test_resolution_is_the_equation_of_the_standard():
    carbons = range(8, 31)
    checks, _ = system_check(ladder_of([100.0] * 23, carbons))
    # 2 * (2 * 1.2) / (1.699 * (0.04 + 0.04))
    assert by_start(checks, "resolution").value == pytest.approx(2 * 2.4 / (1.699 * 0.08))
    assert by_start(checks, "resolution").passed


def test_poor_resolution_fails_with_a_caution():
    checks, step = system_check(ladder_of([100.0] * 23, range(8, 31), half_width=0.6))
    assert by_start(checks, "resolution").passed is False
    assert "system.resolution" in {c.code for c in step.cautions}


def test_a_fall_of_a_fifth_towards_c40_fails_the_response_trend():
    carbons = np.arange(8, 41)
    areas = 100 * (1 - 0.2 * (carbons - 10) / 30)
    checks, step = system_check(ladder_of(areas, carbons))
    assert by_start(checks, "response trend").value == pytest.approx(-20.0, abs=0.01)
    assert "system.response" in {c.code for c in step.cautions}


def test_doubled_rungs_count_half():
    carbons = np.arange(8, 41)
    areas = np.where(carbons % 10 == 0, 200.0, 100.0)
    checks, step = system_check(ladder_of(areas, carbons))
    assert by_start(checks, "largest response").value == pytest.approx(0.0)
    assert not step.cautions


def test_a_missing_c16_is_not_tested_rather_than_passed():
    carbons = [n for n in range(8, 31) if n != 16]
    checks, _ = system_check(ladder_of([100.0] * len(carbons), carbons))
    assert by_start(checks, "resolution").passed is None
