"""The example runs with mass spectra, from the folder to what is known of them; their truth is invented with them."""

import json
import shutil
from pathlib import Path

import numpy as np
import pytest
from scan_examples import CHLORINE_G, RUN, clean_crates, film_and_pvc
from simulated_named import CHLORINATED

from cutbook.chromatogram.centroids import is_profile
from cutbook.chromatogram.mass_offset import mass_offset
from cutbook.importers.recognise import read_scans
from cutbook.importers.run_sheet import read_run
from cutbook.workup.plan_run import PlanRequest, plan_run
from cutbook.workup.read_method import read_method
from cutbook.workup.work_up import work_up

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
NAMES = ("film-and-pvc", "clean-crates")


@pytest.fixture(scope="module")
def findings():
    found = {}
    for name in NAMES:
        run = read_run(EXAMPLES / name)
        found[name] = work_up(run, read_method(run.folder))
    return found


def truth(name):
    return json.loads((EXAMPLES / "generator" / "truth" / f"{name}.json").read_text(encoding="utf-8"))


@pytest.mark.parametrize("name", NAMES)
def test_the_ladder_of_the_spectra_is_numbered_and_places_what_was_put_in(findings, name):
    (sample,) = findings[name].samples
    assert sample.detector == "MS"
    assert [rung.carbon for rung in sample.ladder.rungs] == list(range(7, 21))
    at = RUN.time_of_index(100.0 * np.arange(7, 21))
    assert [rung.peak.apex_min for rung in sample.ladder.rungs] == pytest.approx(at, abs=0.5 * RUN.scan_s / 60)


@pytest.mark.parametrize("name", NAMES)
def test_its_files_are_small_and_its_scans_are_those_of_the_generator(name, tmp_path):
    folder = EXAMPLES / name
    assert all(path.stat().st_size < 1_500_000 for path in folder.rglob("*") if path.is_file())
    make = {"film-and-pvc": film_and_pvc, "clean-crates": clean_crates}[name]
    (tmp_path / "traces").mkdir()
    assert make(tmp_path / "traces") == truth(name)
    # the bytes depend on the library that packs them, the numbers do not
    for path in sorted((tmp_path / "traces").iterdir()):
        again, kept = (read_scans(root, f"traces/{path.name}") for root in (tmp_path, folder))
        assert np.array_equal(again.mz, kept.mz) and np.array_equal(again.intensity, kept.intensity)
        assert np.array_equal(again.time_min, kept.time_min)
    assert len(list((tmp_path / "traces").iterdir())) == len(list((folder / "traces").iterdir()))


def test_the_scans_are_centroids_whose_scale_is_a_little_off():
    for name, file, offset in (("film-and-pvc", "oil-ms.mzML.gz", 0.1), ("clean-crates", "oil-ms.cdf", -0.1)):
        scans = read_scans(EXAMPLES / name, f"traces/{file}")
        assert scans.kind == "centroid" and not is_profile(scans) and scans.step.cautions == ()
        assert mass_offset(scans).offset == pytest.approx(offset, abs=0.03)


def test_chlorine_of_the_sheet_is_that_of_the_truth(findings):
    run = read_run(EXAMPLES / "film-and-pvc")
    known = truth("film-and-pvc")
    assert known["chlorine_g"] == CHLORINE_G
    # 45.0 g of PVC, C2H3Cl 62.50 g/mol, Cl 35.453
    assert pytest.approx(45.0 * 35.453 / 62.498, abs=0.01) == CHLORINE_G["fed"]
    by_name = {product.fraction: product for product in run.products}
    for fraction in ("char", "water", "oil", "wax"):
        product = by_name[fraction]
        assert product.mass.value * product.measured["chlorine"].value == pytest.approx(CHLORINE_G[fraction], rel=0.01)
    # n = (titre − blank) c V / aliquot, 35.453 g/mol
    for bottle, name, litres, aliquot_ml in ((0, "scrubber 1", 2.0, 10.0), (1, "scrubber 2", 0.5, 25.0)):
        titres = [entry.value for entry in run.further["scrubber"][bottle]["titre"]]
        grams = (np.mean(titres) - 0.05) * 0.1 * litres / aliquot_ml * 35.453
        assert grams == pytest.approx(CHLORINE_G[name], rel=0.005)
    # rust took some; never more than was fed
    assert 0.9 * CHLORINE_G["fed"] < sum(v for k, v in CHLORINE_G.items() if k != "fed") < CHLORINE_G["fed"]
    # and the chlorine of the compounds put in (one atom each; g/mol from the formulas) lies below what combustion found
    molar = {"chlorobenzene": 112.56, "2-chloro-2,4-dimethylheptane": 162.70, "1-chlorooctane": 148.67,
             "4-chlorostyrene": 138.59, "(2-chloroethyl)benzene": 140.61, "2-chloroethyl benzoate": 184.62, "1-chloroindane": 152.62}  # fmt: skip
    organic = sum(35.453 / molar[name] * mg_kg for name, mg_kg in known["chlorinated_mg_kg"].items())
    assert 0.7 * 520 < organic < 520
    assert set(known["chlorinated_mg_kg"]) <= set(CHLORINATED)


def test_a_standard_for_ions_is_not_looked_for_in_the_total(findings):
    (sample,) = findings["film-and-pvc"].samples
    codes = [one.code for one in findings["film-and-pvc"].cautions]
    assert codes.count("standard.for_ions") == 1
    # taken from the total, the peak beside it would have made nearly all of the oil "did not elute"
    assert [one.mass.value for one in sample.carbons.shares if one.part == "did not elute"] in ([], [None])
    assert sum(one.mass.value for one in sample.carbons.numbered() if one.mass.value is not None) > 50


def test_without_the_spectra_the_run_says_so(tmp_path):
    from cutbook.model.errors import InputError

    shutil.copytree(EXAMPLES / "clean-crates", tmp_path / "run")
    (tmp_path / "run" / "traces" / "oil-ms.cdf").unlink()
    with pytest.raises(InputError, match="traces/oil-ms.cdf"):
        read_run(tmp_path / "run")


def test_what_was_found_is_followed_through_the_still_and_none_of_it_is_lost(findings):
    found = findings["film-and-pvc"]
    plan = plan_run(found, PlanRequest(("gasoline", "diesel")))
    still = plan.chlorine[0]
    assert still.by == "simulated still"
    (sums,) = found.chlorine.organic
    grams = {cut.cut: cut.share.value / 100 for cut in plan.cuts}
    whole = sum(cut.best.value * grams[cut.cut] for cut in still.cuts if cut.best.value is not None)
    without = sum(part.chlorine.value for part in sums.parts if part.name in still.unplaced and part.chlorine.value)
    assert whole == pytest.approx(sums.best.value - without, rel=1e-6)
    for way in still.ways:
        assert sum(share.value for _, share in way.shares) == pytest.approx(100.0, abs=1e-6)
    ways = {way.name: way for way in still.ways}
    assert ways["chlorobenzene"].mainly_in == "gasoline"  # 131.7 °C
    assert ways["2-chloroethyl benzoate"].mainly_in == "diesel"  # 255.8 °C


def test_standards_are_weighed_with_the_form_of_the_oils_peaks_and_give_back_what_was_put_in(findings):
    """A standard holds eight compounds, too few to tell how wide peaks are all along the run."""
    found = findings["film-and-pvc"]
    known = truth("film-and-pvc")["chlorinated_mg_kg"]
    seen = {one.screened.target.name: one for one in found.chlorine.screened[0].targets}
    for name in ("chlorobenzene", "(2-chloroethyl)benzene", "2-chloroethyl benzoate"):
        amount = seen[name].concentration
        assert amount.value == pytest.approx(known[name], abs=2.0 * amount.u), name
    views = [one for one in amount.step.walk() if one.operation.startswith("make scans ready")]
    assert len(views) >= 5 and {one.settings["form of"] for one in views} == {"traces/oil-ms.mzML.gz"}
    codes = [one.code for one in found.cautions]
    assert codes.count("scans.form_borrowed") == 6  # five standards and the blank
    assert "calibration.not_linear" not in codes
