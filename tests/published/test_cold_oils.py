"""Real oils: what their n-alkanes say of the cold against measured pour points."""

import cold_oils
import pytest
from petroleum_assay import FOLDER

pytestmark = pytest.mark.skipif(
    not FOLDER.is_dir(), reason="the assays of Environment Canada are not at ../shared/data"
)


@pytest.fixture(scope="module")
def oils():
    return cold_oils.cold_oils()[0]


def test_wax_ranks_oils_as_their_pour_points_do(oils):
    ranks = cold_oils.rank_correlations(oils)
    assert len(oils) == 26
    assert ranks["appearance"] >= 0.7
    assert ranks["first gel"] >= 0.7


def test_no_oil_pours_on_after_its_wax_has_set_or_sets_before_without_a_caution(oils):
    for one in oils:
        if one.wrong_side > cold_oils.TOLERANCE_C:
            assert one.codes, one.oil
    assert sum(bool(one.gels.cautions) for one in oils) == 4  # the four samples of one oil with 0.3 % of n-alkanes


def test_no_oil_stops_pouring_before_its_first_wax_appears(oils):
    # D97 counts in steps of 3 °C
    assert all(one.pour <= one.appears + 3.0 for one in oils)


def test_what_a_cold_solvent_precipitates_ranks_oils_as_their_wax_contents_do(oils):
    # ten parts and more, as such methods take; the dilution keeps the short chains in solution
    by_parts = cold_oils.rank_correlations(oils)["precipitated"]
    assert by_parts[10.0] >= 0.7  # 0.74
    assert by_parts[30.0] >= 0.7  # 0.81
    assert by_parts[0.0] < by_parts[3.0] < by_parts[10.0] < by_parts[30.0]


def test_how_much_the_wax_content_is_cannot_be_told_from_n_alkanes(oils):
    # a finding, kept so that nobody promises it: branched and ring-shaped wax, resins and oil are weighed with it
    times = [one.wax / one.heavy_alkanes for one in oils if one.wax is not None]
    assert min(times) < 1.0
    assert max(times) > 5.0
    assert cold_oils.rank_correlations(oils)["n-alkanes and wax content"] < 0.5


def test_a_solvent_takes_wax_away_and_the_more_the_more_of_it_there_is(oils):
    for one in oils:
        falling = [one.precipitated[parts] for parts in cold_oils.PARTS]
        assert falling == sorted(falling, reverse=True)
        assert falling[-1] <= one.alkanes


def test_the_page_of_the_documents_is_up_to_date():
    assert cold_oils.PAGE.read_text(encoding="utf-8") == cold_oils.page()
