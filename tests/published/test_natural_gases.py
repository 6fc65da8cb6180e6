"""Two hundred real natural gases (NIST, AGA8 test data): every one read, summed and burnt.

Their compositions are those of the open file NG Compositions.XLS. Molar masses and heating values are held against
the chemicals library: its own molar masses and enthalpies of combustion, which share nothing with the standard.
"""

import re
from pathlib import Path

import pytest

from cutbook.gas.calorific import gas_properties
from cutbook.gas.composition import gas_composition
from cutbook.gas.substances import component_named, substances
from cutbook.importers.gas_table import read_gas_table
from cutbook.importers.trace_file import TraceFile
from cutbook.model.amount import nominal
from cutbook.model.atoms import atoms_of
from cutbook.model.tables import reference

FILE = Path(__file__).resolve().parents[2].parent / "shared" / "data" / "gas-composition" / "NG Compositions.XLS"


@pytest.fixture(scope="module")
def gases():
    if not FILE.is_file():
        pytest.skip(f"open data set {FILE.name} is not there")
    xlrd = pytest.importorskip("xlrd", reason="xlrd opens the old workbook")
    sheet = xlrd.open_workbook(str(FILE)).sheet_by_index(0)
    names = [str(name) for name in sheet.row_values(0)]
    rows = [sheet.row_values(number) for number in range(1, sheet.nrows)]
    return names, [row for row in rows if all(isinstance(share, float) for share in row) and sum(row) > 99]


@pytest.fixture(scope="module")
def library():
    """Molar mass in g/mol and gross heating value in kJ/mol at 25 °C by component, of the chemicals library."""
    from chemicals import MW, Hfg, HHV_stoichiometry, combustion_stoichiometry

    found = {}
    for row in reference("gas_components").rows:
        atoms = atoms_of(row["formula"])
        burns = set(atoms) & {"C", "H"} and row["name"] not in ("water", "carbon dioxide")
        formation = Hfg(row["cas"]) if burns else None
        heat = 0.0 if formation is None else -HHV_stoichiometry(combustion_stoichiometry(atoms), Hf=formation) / 1000
        found[row["name"]] = (MW(row["cas"]), heat)
    # its combustion of hydrogen sulfide ends at gaseous sulfur dioxide, as that of the standard does
    return found


def test_two_hundred_gases_are_read_summed_and_burnt(gases, library):
    names, rows = gases
    assert len(rows) >= 200
    worst_mass = worst_heat = worst_sum = 0.0
    for number, row in enumerate(rows, 1):
        text = "component,mole %\n" + "".join(f"{n},{share:.5f}\n" for n, share in zip(names, row, strict=True))
        file = TraceFile(f"gas-{number}.csv", text.encode(), "0" * 64)
        table = read_gas_table(file, "[[gas_analysis]] 1", component_named, tuple(substances()), {})
        assert len(table.rows) == 21
        assert not any(substances()[one.component].is_lump for one in table.rows)
        worst_sum = max(worst_sum, abs(sum(one.value for one in table.rows) - 1))
        # water stands in the table; the reference takes it out, too
        gas = gas_composition(table, "wet", "gas")
        found = gas_properties(gas.shares, "gas", gas.step)
        shares = {
            component_named(n): share for n, share in zip(names, row, strict=True) if component_named(n) != "water"
        }
        whole = sum(shares.values())
        mass = sum(share * library[n][0] for n, share in shares.items()) / whole
        heat = sum(share * library[n][1] for n, share in shares.items()) / whole
        at_25 = sum(nominal(share) * nominal(substances()[n].gross[25.0]) for n, share in gas.shares.items())
        worst_mass = max(worst_mass, abs(found.molar_mass.value / mass - 1))
        worst_heat = max(worst_heat, abs(at_25 / heat - 1)) if heat > 1 else worst_heat
        # from 25 to 15 °C the value rises by less than 0.2 % for anything that burns
        assert at_25 <= found.gross_molar.value <= 1.002 * at_25
    assert worst_sum < 1e-6
    assert worst_mass < 1e-4
    assert worst_heat < 1e-3


def test_every_heading_of_the_file_is_one_component(gases):
    names, _ = gases
    assert len({component_named(name) for name in names}) == 21
    assert not any(re.search(r"sum|\+", component_named(name)) for name in names)
