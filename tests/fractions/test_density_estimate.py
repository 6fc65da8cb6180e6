"""The Watson factor that is assumed where nobody measured a density."""

import pytest

from cutbook.fractions.density_estimate import assumed_watson_factor
from cutbook.model.entered import Entered
from cutbook.model.lineage import Source
from cutbook.model.run import Feed
from cutbook.model.tables import reference

SHEET = Source("run.toml", "ab" * 32)
ROWS = {row["polymer"]: (float(row["watson_k"]), float(row["u"])) for row in reference("oil_watson_k").rows}


def feed(material, grams):
    return Feed(material, Entered(grams, 0.5, "g", f"{grams} g", False), "[[feed]] 1")


def factor(*feeds):
    return assumed_watson_factor([feed(*one) for one in feeds], SHEET)


@pytest.mark.parametrize(("material", "row"), [("PE-HD", "PE"), ("ldpe", "PE"), ("PP", "PP"), ("EPS", "PS")])
def test_one_plastic_has_the_factor_of_its_row_by_any_of_its_names(material, row):
    found = factor((material, 500.0))
    assert (found.amount.nominal_value, found.amount.std_dev) == pytest.approx(ROWS[row])
    assert found.origin == f"assumed for oil of {material}"


@pytest.mark.parametrize("material", ["PET", "kitchen mix", "PVC"])
def test_what_has_no_row_has_the_wide_one(material):
    assert (factor((material, 1.0)).amount.nominal_value, factor((material, 1.0)).amount.std_dev) == pytest.approx(
        ROWS["other"]
    )


def test_a_mixture_is_weighted_by_mass_and_as_wide_as_its_parts_differ():
    found = factor(("PE", 300.0), ("PS", 100.0))
    (pe, u_pe), (ps, u_ps) = ROWS["PE"], ROWS["PS"]
    mean = 0.75 * pe + 0.25 * ps
    spread = 0.75 * (pe - mean) ** 2 + 0.25 * (ps - mean) ** 2
    assert found.amount.nominal_value == pytest.approx(mean)
    assert found.amount.std_dev == pytest.approx(((0.75 * u_pe + 0.25 * u_ps) ** 2 + spread) ** 0.5)
    assert found.origin == "assumed for oil of PE and PS"


def test_plastics_of_one_row_do_not_widen_it():
    assert factor(("PE-HD", 1.0), ("PE-LD", 3.0)).amount.std_dev == pytest.approx(ROWS["PE"][1])
    assert factor(("PE-HD", 1.0), ("PE-LD", 3.0), ("PP", 2.0)).origin == "assumed for oil of PE-HD, PE-LD and PP"


def test_the_lineage_names_the_shares_and_the_run_sheet():
    step = factor(("PE", 300.0), ("PS", 100.0)).step
    assert step.settings == {"shares": {"PE": 0.75, "PS": 0.25}}
    assert step.source.path == "run.toml"


def test_a_run_without_feed_is_not_refused():
    assert assumed_watson_factor([], SHEET).amount.nominal_value == ROWS["other"][0]
