"""A whole catalogue of oils: what their n-alkanes say of the cold against measured pour points and wax contents."""

from collections import Counter

import cold_catalogue
import pytest
from cold_catalogue import (
    NEWER,
    OLDER,
    first_gel,
    one_an_oil,
    pour_point,
    rank,
    silently_off,
    wax_ranks,
    with_pour,
    with_wax,
)
from cold_oils import TOLERANCE_C
from oil_catalogue import FEWEST_ALKANES, FEWEST_POINTS, catalogue
from petroleum_assay import FOLDER, all_samples


@pytest.fixture(scope="module")
def rows():
    return cold_catalogue.cold_rows()


def test_oils_that_carry_no_caution_are_ranked_as_their_pour_points(rows):
    bare = [row for row in with_pour(rows) if not row.codes]
    assert len(bare) > 60
    assert rank(bare, pour_point, first_gel) >= 0.7  # 0.76
    # one sample an oil: 0.57 over 24 oils; fresh crudes with little wax pour on far below 1 %, each as long as its own liquid lets it
    assert rank(one_an_oil(bare), pour_point, first_gel) > 0.5


def test_hardly_an_oil_is_placed_on_the_wrong_side_of_its_pour_point_without_a_caution(rows):
    # three samples of 104: a residual fuel whose boiling curve leaves the residue out, and one whose wax is not n-alkanes
    silent = Counter(row.measured.assay.oil for row in silently_off(rows))
    assert silent == {"Bunker C MV Manolis": 2, "Odoptu": 1}
    assert len(with_pour(rows)) == 104


def test_the_cautions_are_raised_where_oils_stop_pouring_for_other_reasons(rows):
    far = [row for row in with_pour(rows) if abs(row.off) > TOLERANCE_C]
    told = [row for row in far if row.codes]
    assert len(told) > 4 * len(silently_off(rows))
    for row in told:
        assert row.off > 0  # always too thick, never too waxy


def test_thick_oils_stop_pouring_before_their_wax_would_set_them(rows):
    # what the constant of the reference table rests on
    thick = [row for row in with_pour(rows) if row.codes == ("cold.thick_oil",)]
    assert len(thick) >= 5
    for row in thick:
        assert row.off >= 8
        assert row.measured.viscosity >= 19_000


def test_no_oil_stops_pouring_before_its_first_wax_appears_unless_it_is_thick(rows):
    for row in with_pour(rows):
        if not row.codes and row.measured.assay.oil != "Bunker C MV Manolis":
            assert row.measured.pour <= row.appears + 3.0  # D97 counts in steps of 3 °C


def test_wax_contents_by_the_newer_method_are_ranked_as_the_wax_from_a_solvent(rows):
    newer = with_wax(rows, NEWER)
    assert len(newer) == 14
    for parts, found in wax_ranks(newer).items():
        assert found >= (0.7 if parts else 0.6)  # 0.98, 0.99, 0.98; 0.63 of the oil undiluted


def test_wax_contents_by_the_older_method_are_not_and_do_not_repeat_themselves(rows):
    # findings, kept so that nobody promises more
    older = with_wax(rows, OLDER)
    assert len(older) == 79
    assert max(wax_ranks(older).values()) < 0.6
    by_oil = {row.measured.assay.oil: row.measured for row in reversed(older)}  # the fresh one stays
    first, second = by_oil["Alaska North Slope [2002]"], by_oil["Alaska North Slope [2015]"]
    assert second.wax > 1.5 * first.wax
    heavy = [sum(v for n, v in one.assay.known(one.assay.alkanes).items() if n >= 18) for one in (first, second)]
    assert heavy[1] < heavy[0]


def test_the_extract_holds_what_it_says():
    oils = catalogue()
    assert len(oils) == 118
    assert len({one.assay.sample for one in oils}) == 118
    for one in oils:
        assert len(one.assay.known(one.assay.alkanes)) >= FEWEST_ALKANES
        points = one.assay.known(one.assay.off) or one.assay.known(one.assay.cumulative)
        assert len(points) >= FEWEST_POINTS
        assert one.pour is not None or one.wax is not None


@pytest.mark.skipif(not FOLDER.is_dir(), reason="the assays of Environment Canada are not at ../shared/data")
def test_the_extract_agrees_with_the_rows_it_was_taken_from():
    by_sample = {one.sample: one for one in all_samples()}
    both = [one for one in catalogue() if one.assay.sample in by_sample]
    assert len(both) == 26
    for one in both:
        row = by_sample[one.assay.sample]
        assert one.assay.known(one.assay.alkanes) == pytest.approx(row.known(row.alkanes), rel=1e-5)
        assert one.assay.known(one.assay.off) == pytest.approx(row.known(row.off))


def test_the_page_of_the_documents_is_up_to_date(rows):
    assert cold_catalogue.PAGE.read_text(encoding="utf-8") == cold_catalogue.page(rows)
