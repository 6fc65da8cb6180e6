"""A whole catalogue of oils: what their n-alkanes say of the cold against measured pour points and wax contents."""

from collections import Counter

import cold_catalogue
import pytest
from cold_catalogue import (
    NEWER,
    OLDER,
    by_caution,
    far_off,
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
from petroleum_assay import FOLDER, OF_WHAT_ELUTED, all_samples


@pytest.fixture(scope="module")
def rows():
    return cold_catalogue.cold_rows()


def test_oils_that_carry_no_caution_are_ranked_as_their_pour_points(rows):
    bare = [row for row in with_pour(rows) if not row.codes]
    assert len(bare) > 50
    assert rank(bare, pour_point, first_gel) >= 0.7  # 0.87
    assert len(one_an_oil(bare)) >= 17
    assert rank(one_an_oil(bare), pour_point, first_gel) >= 0.7  # 0.86


def test_no_oil_is_placed_on_the_wrong_side_of_its_pour_point_without_a_caution(rows):
    assert len(with_pour(rows)) == 104
    assert silently_off(rows) == []


def test_most_samples_carry_no_caution_and_the_ones_off_are_told_by_few(rows):
    # a caution on everything would tell nothing
    told = {code: (len(so), far_off(so)) for code, so, _ in by_caution(rows)}
    assert sum(bool(row.codes) for row in with_pour(rows)) < 0.5 * len(with_pour(rows))
    for most, code in ((40, "too_little_wax"), (3, "hardly_enough_wax"), (15, "thick_oil"), (10, "tail_unknown")):
        samples, far = told[f"cold.{code}"]
        assert samples <= most, code
        assert far >= 0.3 * samples, code  # of the samples without a caution none is
    assert {code for row in rows for code in row.codes} == set(told)


def test_a_boiling_curve_of_what_eluted_leaves_out_the_residue(rows):
    # its method says so, for all nine samples; for one oil its asphaltenes do too
    eluted = [row for row in rows if "cold.tail_unknown" in row.codes]
    assert Counter(row.measured.assay.method for row in eluted) == {OF_WHAT_ELUTED: 9}
    manolis = [row for row in eluted if row.measured.assay.oil == "Bunker C MV Manolis"]
    assert [row.measured.asphaltenes for row in manolis] == [13.0, 21.0]
    for row in manolis:
        assert max(row.measured.assay.known(row.measured.assay.off).items()) < (99.6, 505.0)


def test_an_oil_that_just_reaches_the_first_share_pours_as_its_siblings_do(rows):
    # kept against the thought that its pour point is misread: it rises as the oil is evaporated, and so does the wax content
    siblings = [row for row in rows if row.measured.assay.oil == "Odoptu"]
    assert [row.codes for row in siblings] == [("cold.too_little_wax",)] * 3 + [("cold.hardly_enough_wax",)]
    for values in ([row.measured.pour for row in siblings], [row.measured.wax for row in siblings]):
        assert values == sorted(values)
    last = siblings[-1].measured
    assert last.wax > 5 * sum(last.assay.known(last.assay.alkanes).values()) / 1e4
    assert last.viscosity < 50


def test_the_cautions_are_raised_where_oils_stop_pouring_for_other_reasons(rows):
    far = [row for row in with_pour(rows) if abs(row.off) > TOLERANCE_C]
    assert len(far) == 17
    for row in far:
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
        if not row.codes:
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
        assert one.assay.method == row.method


def test_the_page_of_the_documents_is_up_to_date(rows):
    assert cold_catalogue.PAGE.read_text(encoding="utf-8") == cold_catalogue.page(rows)
