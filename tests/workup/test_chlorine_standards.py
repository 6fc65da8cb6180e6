"""Standards and blanks of the chlorine screen: placed by a ladder or by a stated time; what is not used is said."""

import numpy as np
import pytest
from scan_writers import andi_ms
from simulated_instrument import GcMs
from simulated_scans import Spike, blank, standard

from cutbook.importers.run_sheet import read_run
from cutbook.workup.chlorine import work_up_chlorine
from cutbook.workup.method import Method
from cutbook.workup.samples import Traces, work_up_sample

SHORT = GcMs(minutes=8.0)
SHEET = """
[run]
id = "standards"
[[feed]]
material = "PE-HD"
mass = "100 g"
[[product]]
fraction = "oil"
mass = "80 g"
[[trace]]
file = "oil.cdf"
detector = "MS"
role = "sample"
of = "oil"
blank = "blank.csv"
"""
STANDARD = """
[[trace]]
file = "standard-{number}.cdf"
detector = "MS"
role = "standard"
of = "oil"
amounts = [{{ name = "{name}", concentration = "{level} mg/kg"{time} }}]
"""


def written(path, run):
    path.write_bytes(andi_ms(run.time_min, run.scans(np.random.default_rng(1), whole=True)))


def screened(folder, name="chlorobenzene", timed=True):
    """An oil with 40 mg/kg of chlorobenzene and nothing else, standards of 10 to 90 mg/kg, no ladder; the screen."""
    oil = blank(1, SHORT, [Spike("chlorobenzene", mg_kg=40.0)])
    truth = next(one for one in oil.truth if one["name"] == "chlorobenzene")
    written(folder / "oil.cdf", oil)
    (folder / "blank.csv").write_text(
        "time (min),TIC\n" + "\n".join(f"{0.05 * n:.2f},{50 + n % 3}" for n in range(160))
    )
    text = SHEET
    for number, level in enumerate((10.0, 30.0, 90.0)):
        written(folder / f"standard-{number}.cdf", standard(2 + number, {"chlorobenzene": level}, SHORT))
        time = f', retention_time = "{truth["time_min"]:.2f} min"' if timed else ""
        text += STANDARD.format(number=number, name=name, level=level, time=time)
    (folder / "run.toml").write_text(text)
    run = read_run(folder)
    traces = Traces(run, Method())
    (entry,) = run.samples()
    sample, _ = work_up_sample("oil", entry, traces)
    return work_up_chlorine(run, traces, [sample], Method())


def codes(cautions):
    return {one.code for one in cautions}


def test_standards_with_retention_times_need_no_ladder(tmp_path):
    found, cautions = screened(tmp_path)
    (oil,) = found.screened
    by_name = {one.screened.target.name: one for one in oil.targets}
    one = by_name["chlorobenzene"]
    assert one.screened.verdict in ("confirmed", "indicated")
    assert (one.screened.index_from, one.basis) == ("standard", "external standard")
    assert one.concentration.value == pytest.approx(40.0, rel=0.1)
    assert by_name["benzyl chloride"].concentration.reason == "chlorine.not_recorded"
    assert "chlorine.no_scans_beside" in codes(cautions)  # the blank is a trace alone
    assert "chlorine.no_blank" not in codes(cautions)


def test_standards_that_nobody_can_place_are_named_and_the_oil_is_not_screened(tmp_path):
    found, cautions = screened(tmp_path, timed=False)
    assert found is None
    assert {"chlorine.standard_unplaced", "chlorine.no_places"} <= codes(cautions)


def test_a_name_that_is_in_no_table_is_told(tmp_path):
    found, cautions = screened(tmp_path, name="clorobenzene")
    assert found is None
    told = [one for one in cautions if one.code == "chlorine.standard_unknown"]
    assert len(told) == 3 and told[0].facts["names"] == "clorobenzene"
