"""The limit of the search for unknown clusters: more in the way, a higher limit."""

import numpy as np
import pytest
from simulated_scans import GcMs, simulate
from unknown_oils import SHORT, alone, matrix_of, widths_of

from cutbook.chlorine.unknown_limit import UnknownLimitSettings, unknown_limit
from cutbook.chromatogram.ion_noise import estimate_ion_noise


def limit_of(run, atoms=1, **settings):
    matrix = matrix_of(run)
    return unknown_limit(
        matrix, widths_of(run.run), estimate_ion_noise(matrix), atoms, UnknownLimitSettings(**settings)
    )


def test_an_oil_raises_the_limit_above_that_of_an_empty_run():
    recorded = GcMs(minutes=12.0)
    oil, empty = limit_of(simulate(3, "mixed", recorded)), limit_of(alone([], recorded))
    assert oil.ions > 4 * empty.ions
    assert empty.half_ions <= empty.ions


def test_more_chlorine_atoms_are_found_from_fewer_ions():
    run = simulate(3, "polyolefin", GcMs(minutes=12.0))
    one, two, three = (limit_of(run, atoms).half_ions for atoms in (1, 2, 3))
    assert one > two >= three


def test_the_limit_states_what_it_was_tried_with():
    limit = limit_of(alone([], GcMs(minutes=12.0)))
    assert limit.places > 20 and limit.found >= 0.95 * limit.places
    assert limit.area == pytest.approx(limit.ions * 20.0 * 0.5 / 60, rel=0.3)  # 20 counts an ion, scans of 0.5 s
    assert limit.step.operation == "limit of the search/2"


def test_where_no_level_is_enough_there_is_no_limit():
    limit = limit_of(alone([]), most=200.0)
    assert limit.ions is None and limit.area is None


def test_a_run_too_short_to_add_anything_has_no_limit():
    run = matrix_of(alone([]))
    short = type(run)(run.file, run.time_min[:50], run.first_mz, run.counts[:50], run.step)
    limit = unknown_limit(short, widths_of(SHORT), estimate_ion_noise(short))
    assert (limit.ions, limit.places) == (None, 0)


def test_the_run_itself_is_not_changed():
    matrix = matrix_of(alone([]))
    before = matrix.counts.copy()
    unknown_limit(matrix, widths_of(SHORT), estimate_ion_noise(matrix))
    assert np.array_equal(matrix.counts, before)
