"""The energy of a run from its sheet to results and report, and what is said of it."""

import json
import re
from dataclasses import replace

import pytest
from click.testing import CliRunner
from test_gas import EXAMPLES, METERED, TABLE, a_run, codes

from cutbook.balance.propagation_check import MonteCarloSettings
from cutbook.cli.main import main
from cutbook.importers.run_sheet import read_run
from cutbook.reporting.energy_words import energy_sentences
from cutbook.reporting.explanation import explain
from cutbook.reporting.results_json import as_text, results
from cutbook.workup.method import Method
from cutbook.workup.readiness import readiness
from cutbook.workup.work_up import work_up

REACTOR = '[reactor]\npurge_gas = "none"\n'
FUEL = REACTOR + 'burner_fuel = "propane"\nburner_fuel_used = "0.42 ± 0.01 kg"'
ELECTRIC = REACTOR + 'heater_energy = "5.1 ± 0.1 kWh"'
CHAR = '\n[[product]]\nfraction = "char"\nmass = "20.0 ± 0.1 g"\n'
CLAIMS = re.compile(
    r"self-suffic|self-sustain|runs? on its own|enough|carries|can heat itself|surplus|free energy", re.I
)


def row(findings, name, feed=False):
    return next(one for one in findings.energy.rows if one.name == name and one.feed is feed)


def said(findings):
    return " ".join(energy_sentences(findings))


def edited(folder, **keys):
    """A run whose oil has these keys."""
    a_run(folder)
    sheet = folder / "run.toml"
    more = "".join(f'{key} = "{value}"\n' for key, value in keys.items())
    text = sheet.read_text(encoding="utf-8").replace('mass = "300.0 ± 0.5 g"\n', 'mass = "300.0 ± 0.5 g"\n' + more)
    sheet.write_text(text, encoding="utf-8")
    return read_run(folder)


@pytest.mark.parametrize(
    ("text", "value"),
    [("45.2 ± 0.1 MJ/kg", 45.2), ("45.2 kJ/g", 45.2), ("10796 cal/g", 45.2), ("10796 kcal/kg", 45.2),
     ("19432 BTU/lb", 45.2), ("12.556 kWh/kg", 45.2)],
)  # fmt: skip
def test_a_measured_value_is_taken_in_any_of_its_units_and_called_measured(tmp_path, text, value):
    found = row(work_up(edited(tmp_path / "run", gross_calorific_value=text)), "oil")
    assert found.how == "measured"
    assert found.gross.value == pytest.approx(value, rel=2e-4)
    assert found.energy.value == pytest.approx(0.3 * value, rel=2e-4)
    assert dict(found.energy.budget).keys() >= {"gross calorific value of oil", "weighing of oil"}


def test_measured_carbon_and_hydrogen_give_a_value_by_correlation(tmp_path):
    found = row(work_up(edited(tmp_path / "run", carbon="86.1 ± 0.3 %", hydrogen="13.6 ± 0.2 %")), "oil")
    assert found.how == "elements"
    # what is left, 0.3 %, may be oxygen: at most 0.03 MJ/kg
    assert found.gross.value == pytest.approx(0.3491 * 86.1 + 1.1783 * 13.6, abs=0.04)


def test_a_density_alone_gives_an_estimate(tmp_path):
    # 0.7930 g/mL: 46.67 °API (Mishra et al. 2014, table 1), for which the correlation says 46.4 MJ/kg
    found = row(work_up(edited(tmp_path / "run", density="0.7930 g/mL")), "oil")
    assert found.how == "density"
    assert found.gross.value == pytest.approx(46.4, abs=0.1)


def test_a_measured_value_that_does_not_fit_the_density_is_used_and_told(tmp_path):
    # the same table reports 10 000 cal/g for that oil, which is a tenth less
    findings = work_up(edited(tmp_path / "run", density="0.7930 g/mL", gross_calorific_value="10000 cal/g"))
    assert row(findings, "oil").how == "measured"
    assert row(findings, "oil").gross.value == pytest.approx(41.87, abs=0.01)
    gap = next(one for one in findings.cautions if one.code == "properties.measured_gap")
    assert gap.facts["expected"] == pytest.approx(46.4, abs=0.1)
    fits = work_up(edited(tmp_path / "fits", density="0.7930 g/mL", gross_calorific_value="46.0 MJ/kg"))
    assert "properties.measured_gap" not in codes(fits)


def test_a_feed_of_pure_polymer_has_its_published_heat(tmp_path):
    findings = work_up(a_run(tmp_path / "run"))
    found = row(findings, "PE", feed=True)
    assert found.how == "published"
    assert found.gross.value == pytest.approx(46.4)
    assert findings.energy.feed.value == pytest.approx(0.5 * 46.4)


def with_feed_keys(tmp_path, *lines):
    """The run with further keys of its feed."""
    a_run(tmp_path / "run")
    sheet = tmp_path / "run" / "run.toml"
    mass = 'mass = "500.0 ± 0.5 g"\n'
    text = sheet.read_text(encoding="utf-8").replace(mass, mass + "\n".join(lines) + "\n")
    sheet.write_text(text, encoding="utf-8")
    return work_up(read_run(tmp_path / "run"))


def test_moisture_and_ash_of_a_feed_do_not_burn(tmp_path):
    findings = with_feed_keys(tmp_path, 'moisture = "2 %"', 'ash = "3 %"')
    assert row(findings, "PE", feed=True).gross.value == pytest.approx(0.95 * 46.4)


def test_a_feed_that_was_analysed_is_not_taken_for_pure(tmp_path):
    findings = with_feed_keys(tmp_path, 'carbon = "80.0 %"', 'hydrogen = "13.0 %"')
    assert row(findings, "PE", feed=True).how == "elements"


def test_the_gas_has_the_value_of_its_composition(tmp_path):
    findings = work_up(a_run(tmp_path / "run"))
    found = row(findings, "gas")
    assert found.how == "composition of the gas"
    # methane 891.51 and propene 2059.43 kJ/mol at 15 °C (ISO 6976:2016)
    assert found.gross.value == pytest.approx((891.51 + 2059.43) / (16.0425 + 42.0797), rel=1e-3)
    assert findings.energy.gas_net.value == pytest.approx(findings.gas.energy.value)


def test_purge_gas_in_a_weighed_gas_gives_nothing(tmp_path):
    weighed = 'mass = "100.0 ± 0.5 g"'
    table = "component,mole %\nmethane,40.0\npropene,40.0\nnitrogen,20.0\noxygen,0\n"
    reactor = '[reactor]\npurge_gas = "nitrogen"'
    findings = work_up(a_run(tmp_path / "run", gas=weighed, table=table, reactor=reactor))
    hydrocarbons = 0.4 * 16.0425 + 0.4 * 42.0797
    share = hydrocarbons / (hydrocarbons + 0.2 * 28.0134)
    pure = (891.51 + 2059.43) / (16.0425 + 42.0797)
    assert row(findings, "gas").energy.value == pytest.approx(0.1 * share * pure, rel=2e-3)
    assert findings.energy.gas_net.value == pytest.approx(findings.gas.energy.value)
    assert findings.gas.energy.value == pytest.approx(0.1 * share * findings.gas.properties.net.value, rel=1e-4)


def test_purge_gas_in_a_gas_of_measured_density_is_taken_out_once_and_alike_in_both_sections(tmp_path):
    density = 'volume = "60.0 L"\ndensity = "1.70 g/L"\ntemperature = "15 °C"\npressure = "101.3 kPa"\nwet = false'
    table = "component,mole %\nmethane,40.0\npropene,40.0\nnitrogen,20.0\noxygen,0\n"
    reactor = '[reactor]\npurge_gas = "nitrogen"'
    findings = work_up(a_run(tmp_path / "run", gas=density, table=table, reactor=reactor))
    hydrocarbons = 0.4 * 16.0425 + 0.4 * 42.0797
    share = hydrocarbons / (hydrocarbons + 0.2 * 28.0134)
    energy = 0.102 * share * findings.gas.properties.net.value
    assert findings.gas.energy.value == pytest.approx(energy, rel=1e-4)
    assert findings.energy.gas_net.value == pytest.approx(energy, rel=1e-4)
    # one measurement, read once: the two are the same to their last doubt
    apart = findings.gas.energy.amount - findings.energy.gas_net.amount
    assert apart.std_dev == pytest.approx(0.0, abs=1e-9)


def test_without_fuel_only_the_literature_is_shown_and_nothing_is_claimed(tmp_path):
    findings = work_up(a_run(tmp_path / "run"))
    told = said(findings)
    assert findings.energy.ratio.value is None
    assert "cannot be told, since what heated the reactor was not measured" in told
    assert "by the literature, before any loss; bench rigs lose several times that" in told
    assert "%" not in told.replace("% of", "")
    assert not CLAIMS.search(told)
    assert {"energy.no_fuel", "energy.literature_heat"} <= codes(findings)


@pytest.mark.parametrize(("reactor", "energy"), [(FUEL, 0.42 * 46.1), (ELECTRIC, 18.36)], ids=["propane", "electric"])
def test_with_fuel_the_ratio_is_given_and_the_words_stay_sober(tmp_path, reactor, energy):
    findings = work_up(a_run(tmp_path / "run", reactor=reactor))
    ledger = findings.energy
    assert ledger.burner.energy.value == pytest.approx(energy)
    assert ledger.ratio.value == pytest.approx(100 * ledger.gas_net.value / energy)
    assert ledger.ratio.u > 0
    told = said(findings)
    assert re.search(r"known for neither|not known here", told)
    assert re.search(r"this does not show that the run would do without its (fuel|electricity)\.", told)
    assert not CLAIMS.search(told)
    assert "energy.no_fuel" not in codes(findings)


def test_no_wording_claims_that_a_run_feeds_itself():
    from cutbook.reporting.cautions import wordings
    from cutbook.reporting.energy_words import energy_words

    texts = [text for text in energy_words().values() if isinstance(text, str)]
    texts += [" ".join((w.text, w.means, w.do)) for code, w in wordings().items() if code.startswith("energy.")]
    for text in texts:
        assert not CLAIMS.search(text.replace("not known well enough", "")), text


def test_burning_the_gas_is_left_to_licensed_practice(tmp_path):
    assert "licensed practice and the local codes" in said(work_up(a_run(tmp_path / "run")))


def test_gas_of_a_feed_with_chlorine_must_not_be_burnt_unscrubbed(tmp_path):
    findings = work_up(a_run(tmp_path / "run", material="PVC"))
    assert "safety.burning_acid_gas" in codes(findings)
    assert "must not be burnt unscrubbed" in said(findings)
    assert "safety.burning_acid_gas" not in codes(work_up(a_run(tmp_path / "plain")))


def test_gas_that_nobody_analysed_is_no_exception():
    findings = work_up(read_run(EXAMPLES / "mixed-film"))  # with PVC, its gas by difference
    assert "safety.burning_acid_gas" in codes(findings)
    told = said(findings)
    assert "must not be burnt unscrubbed" in told
    assert "licensed practice and the local codes" in told
    assert "What the gas would give when burnt is not known." in told


def test_a_feed_of_other_plastics_has_no_literature_heat(tmp_path):
    findings = work_up(a_run(tmp_path / "run", material="PET"))
    assert findings.energy.process is None
    assert "no heat of the process is at hand" in said(findings)


def test_the_peak_temperature_of_the_conditions_is_used(tmp_path):
    hot = work_up(a_run(tmp_path / "hot", more='\n[conditions]\npeak_temperature = "500 °C"\n'))
    assert (hot.energy.process.peak_c, hot.energy.process.assumed) == (500.0, False)
    silent = work_up(a_run(tmp_path / "silent"))
    assert silent.energy.process.assumed
    assert "energy.peak_assumed" in codes(silent)


def test_every_figure_can_be_explained(tmp_path):
    findings = work_up(a_run(tmp_path / "run", reactor=FUEL))
    named = findings.named()
    for name in ("feed", "products", "closure", "unaccounted", "gas_net", "ratio", "process", "burner",
                 "feeds.PE.energy", "streams.oil.gross", "streams.gas.share"):  # fmt: skip
        assert f"energy.{name}" in named, name
    told = explain(findings, "energy.feed")
    assert "heat of combustion of PE" in told
    assert "published heat of combustion/1" in told
    assert "weighing of feed PE" in told
    assert "propane used" in explain(findings, "energy.ratio")


def test_results_hold_the_ledger(tmp_path):
    findings = work_up(a_run(tmp_path / "run", reactor=FUEL))
    found = json.loads(as_text(results(findings)))["energy"]
    assert [one["name"] for one in found["streams"]] == ["PE", "oil", "gas"]
    assert found["streams"][0]["gross"] == {"value": pytest.approx(46.4), "u": pytest.approx(0.3), "unit": "MJ/kg"}
    assert found["burner"]["used"] == "0.42 ± 0.01 kg propane"
    assert found["process"]["low"]["value"] < found["process"]["energy"]["value"] < found["process"]["high"]["value"]
    assert found["ratio"]["unit"] == "%"
    assert found["feed"]["unit"] == "MJ"


def test_the_command_explains_the_energy_of_the_feed(tmp_path):
    a_run(tmp_path / "run")
    shown = CliRunner().invoke(main, ["explain", str(tmp_path / "run"), "energy.feed"])
    assert shown.exit_code == 0, shown.output
    assert "energy of the feed" in shown.output


def test_the_tables_of_other_tests_are_what_these_rely_on():
    assert "methane,50.0" in TABLE
    assert "volume" in METERED


def test_the_table_of_the_energy_is_the_ledger(tmp_path):
    table = work_up(a_run(tmp_path / "run", reactor=FUEL, more=CHAR)).table("energy")
    assert list(table["stream"]) == ["PE", "oil", "gas", "char"]
    assert table["energy_mj"][0] == pytest.approx(0.5 * 46.4)
    assert table["energy_mj"].isna()[3]
    assert table["reason"][3] == "energy.no_value"


def test_two_feeds_of_one_name_are_two_streams(tmp_path):
    second = '\n[[feed]]\nmaterial = "PE"\nmass = "100.0 ± 0.5 g"\nash = "10 %"\n'
    findings = work_up(a_run(tmp_path / "run", more=second))
    named = findings.named()
    assert named["energy.feeds.PE.energy"].value == pytest.approx(0.5 * 46.4)
    assert named["energy.feeds.PE-2.energy"].value == pytest.approx(0.1 * 0.9 * 46.4)
    assert findings.energy.feed.value == pytest.approx(0.59 * 46.4)


def test_what_heated_the_reactor_is_asked_for_where_a_gas_was_analysed(tmp_path):
    def asked(run):
        return {one.code for one in readiness(run)}

    assert "burner_fuel" in asked(a_run(tmp_path / "run"))
    assert "burner_fuel" not in asked(a_run(tmp_path / "fuel", reactor=FUEL))
    assert "burner_fuel" not in asked(a_run(tmp_path / "electric", reactor=ELECTRIC))


def test_first_order_uncertainties_of_the_ledger_agree_with_random_draws():
    method = replace(Method(), monte_carlo=replace(MonteCarloSettings(), draws=4000))
    held = [
        one for one in work_up(read_run(EXAMPLES / "crate-oil"), method).monte_carlo.results if "energy" in one.name
    ]
    assert len([one for one in held if one.name.startswith("energy.")]) > 20
    for one in held:
        # 4000 draws know a standard uncertainty to about 1 %
        assert one.u_drawn == pytest.approx(one.u, rel=0.06), one.name
        assert one.mean == pytest.approx(one.value, abs=0.1 * one.u), one.name


def test_the_heat_of_the_process_says_what_of_a_wet_charge_it_leaves_out(tmp_path):
    dry = work_up(a_run(tmp_path / "dry"))
    a_run(tmp_path / "wet")
    sheet = tmp_path / "wet" / "run.toml"
    text = sheet.read_text(encoding="utf-8")
    moist = text.replace('mass = "500.0 ± 0.5 g"\n', 'mass = "500.0 ± 0.5 g"\nmoisture = "20.0 ± 0.5 %"\n')
    assert moist != text
    sheet.write_text(moist, encoding="utf-8")
    wet = work_up(read_run(tmp_path / "wet"))
    assert wet.energy.process.energy.value == pytest.approx(0.8 * dry.energy.process.energy.value)
    told = {one.code: one.facts for one in wet.cautions}
    assert told["energy.partly_covered"]["covered"] == 80.0
    assert "energy.partly_covered" not in {one.code for one in dry.cautions}


def test_an_estimate_from_the_density_is_of_the_oil_without_its_water(tmp_path):
    def oil(name, more):
        folder = tmp_path / name
        folder.mkdir()
        text = '[run]\nid = "W"\n[[feed]]\nmaterial = "PP"\nmass = "300.0 g"\n'
        text += f'[[product]]\nfraction = "oil"\nmass = "240.0 g"\ndensity = "0.77 g/mL"\n{more}'
        (folder / "run.toml").write_text(text, encoding="utf-8")
        return row(work_up(read_run(folder)), "oil")

    dry, wet = oil("dry", ""), oil("wet", 'moisture = "10.0 ± 0.5 %"\n')
    assert (dry.how, wet.how) == ("density", "density")
    assert wet.gross.value == pytest.approx(0.9 * dry.gross.value)
    # 0.5 % of the dry value on top
    apart = wet.gross.u**2 - (0.9 * dry.gross.u) ** 2
    assert apart**0.5 == pytest.approx(0.005 * dry.gross.value, rel=1e-6)
