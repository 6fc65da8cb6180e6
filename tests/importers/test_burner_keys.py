"""[reactor] of a run sheet: what heated it."""

import pytest
from run_sheets import SHORT, lines

from cutbook.importers.run_sheet import read_run

KNOWN = "propane, butane, LPG, natural gas, diesel, heating oil, kerosene, petrol, wood, charcoal"


def read(folder, *entries):
    (folder / "run.toml").write_text(SHORT + "\n[reactor]\n" + "\n".join(entries) + "\n", encoding="utf-8")
    return read_run(folder).further["reactor"][0]


@pytest.mark.parametrize(
    ("entries", "fuel", "value", "unit"),
    [
        (('burner_fuel = "propane"', 'burner_fuel_used = "0.42 kg"'), "propane", 420.0, "g"),
        (('burner_fuel = "C3H8"', 'burner_fuel_used = "0.42 ± 0.01 kg"'), "propane", 420.0, "g"),
        (('burner_fuel = "Diesel"', 'burner_fuel_used = "1.2 L"'), "diesel", 1200.0, "mL"),
        (('burner_fuel = "natural gas"', 'burner_fuel_used = "0.9 m³"'), "natural gas", 900_000.0, "mL"),
    ],
)
def test_a_fuel_and_how_much_of_it(tmp_path, entries, fuel, value, unit):
    found = read(tmp_path, *entries)
    assert found["burner_fuel"] == fuel
    assert found["burner_fuel_used"].value == pytest.approx(value)
    assert found["burner_fuel_used"].unit == unit
    assert found["heater_energy"] is None


def test_electricity_by_the_meter(tmp_path):
    found = read(tmp_path, 'heater_energy = "5.1 kWh"')
    assert found["heater_energy"].value == pytest.approx(18.36)
    assert (found["burner_fuel"], found["burner_fuel_used"]) == ("", None)


@pytest.mark.parametrize(
    ("entries", "line"),
    [
        (('burner_fuel = "propan"',),
         f"run.toml, [reactor], burner_fuel: found 'propan'; expected one of {KNOWN}. Did you mean 'propane'?"),
        (('burner_fuel_used = "0.42 kg"',),
         "run.toml, [reactor], burner_fuel: found nothing beside burner_fuel_used; expected the fuel, such as "
         'burner_fuel = "propane"'),
        (('burner_fuel = "propane"', 'burner_fuel_used = "0.8 L"'),
         'run.toml, [reactor], burner_fuel_used: found "0.8 L" of propane, a volume; expected a mass of propane, such as '
         '"0.42 kg". Weigh the bottle before and after.'),
        (('burner_fuel = "propane"', 'burner_fuel_used = "0.42"'),
         'run.toml, [reactor], burner_fuel_used: found "0.42", no unit; expected a mass with its unit, such as "812.4 g". '
         'Write "0.42 g" if that is the unit.'),
        (('burner_fuel = "propane"', 'burner_fuel_used = "0 kg"'),
         'run.toml, [reactor], burner_fuel_used: found "0 kg"; expected an amount above 0'),
        (('heater_energy = "0 kWh"',),
         'run.toml, [reactor], heater_energy: found "0 kWh"; expected an energy above 0'),
        (('heater_energy = "2.1 kW"',),
         'run.toml, [reactor], heater_energy: found "2.1 kW", a power; expected an energy with its unit, such as "5.1 kWh"'),
        (('heater_energy = "-2 kWh"',),
         'run.toml, [reactor], heater_energy: found "-2 kWh", a negative energy; expected an energy of 0 or more'),
        (('burner_fule = "propane"',),
         "run.toml, [reactor]: found unknown key 'burner_fule'; expected one of free_volume"),
    ],
    ids=["spelling", "no fuel", "volume of a bottle gas", "no unit", "nothing burnt", "no electricity", "power",
         "negative", "key"],
)  # fmt: skip
def test_a_faulty_entry_is_one_line(tmp_path, entries, line):
    told = lines(tmp_path, SHORT + "\n[reactor]\n" + "\n".join(entries) + "\n")
    assert len(told) == 1
    assert told[0].startswith(line)
