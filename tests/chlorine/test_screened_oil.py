"""One oil put together from its run, its standards and its clusters."""

import pytest
from screened import a_cluster, a_quantity, a_run, a_screened

from cutbook.chlorine.screened_oil import Laboratory, OilSettings, screened_oil
from cutbook.workup.method import Method


def the_settings():
    method = Method()
    return OilSettings(method.concentration, method.calibration, method.surrogate, method.organic_chlorine)


def test_oil_has_its_concentrations_clusters_and_sums():
    oil = a_run([a_screened("chlorobenzene", "confirmed", 300.0, 1.0), a_screened("1,4-dichlorobenzene")], current=1e6)
    standards = [
        a_run([a_screened("chlorobenzene", "confirmed", 60.0 * level, 1.0)], file=f"{level}", role="standard", of="",
              amounts=(("chlorobenzene", f"{level:.3f} mg/kg"),))
        for level in (1.0, 2.0, 5.0, 10.0)
    ]  # fmt: skip
    both = a_cluster(chlorine=1, bromine=1, mz=(190, 192))
    clusters = (a_cluster(), both, a_cluster(chlorine=0, bromine=2))
    known = Laboratory(a_quantity("10 mg/kg", "fraction"), "x-ray fluorescence")
    found, sums = screened_oil(oil, standards, clusters, known, "run.toml", the_settings())
    assert [one.basis for one in found.targets] == ["external standard", "surrogate"]
    assert found.targets[0].concentration.value == pytest.approx(5.0)
    assert (len(found.unknown), len(found.bromine)) == (2, 2)
    assert both in found.unknown
    assert both in found.bromine
    assert sums.bulk.method == "x-ray fluorescence"
    assert sums.of == found.of == "oil"


def test_nothing_known_of_an_oil_is_no_failure():
    found, sums = screened_oil(a_run([]), (), (), Laboratory(), "run.toml", the_settings())
    assert found.targets == ()
    assert sums.best.status == "not determined"
