"""A user's own targets: read, completed by theory, refused in one line a fault."""

import pytest

from cutbook.identification.isotope_pattern import isotope_share
from cutbook.identification.target_table import target_named
from cutbook.identification.user_targets import UNSTATED_U_INDEX, user_targets
from cutbook.model.errors import InputError

HEAD = "name,formula,index,quantifier,qualifiers"


def read(tmp_path, *lines, name="targets.csv"):
    (tmp_path / name).write_text("\n".join(lines) + "\n", encoding="utf-8")
    return user_targets(tmp_path, name)


def faults(tmp_path, *lines):
    with pytest.raises(InputError) as caught:
        read(tmp_path, *lines)
    lines = str(caught.value).splitlines()
    assert len(lines) == len(caught.value.faults)
    return lines


def test_the_least_that_must_be_said_makes_a_target(tmp_path):
    (one,) = read(tmp_path, HEAD, "2-chlorocumene,C9H11Cl,1085,154,139:80")
    assert (one.name, one.chlorine_atoms, one.kind, one.group) == ("2-chlorocumene", 1, "product", "2-chlorocumene")
    assert (one.index, one.u_index) == (1085, UNSTATED_U_INDEX)
    assert [(ion.mz, ion.role) for ion in one.ions] == [
        (154, "quantifier"),
        (156, "isotope partner"),
        (139, "qualifier"),
    ]
    assert one.ions[1].share == pytest.approx(isotope_share("C9H11Cl", 156, 154))
    assert one.ions[2].share == pytest.approx(0.8)
    assert one.aromatic  # C9H11Cl: 9 + 1 - 12/2 = 4 rings and double bonds
    assert one.place == "targets.csv, line 2"
    # 9 C, 11 H, 1 Cl by the masses of the commission
    assert one.molar_mass == pytest.approx(9 * 12.011 + 11 * 1.008 + 35.45, abs=0.01)
    assert 155 in one.other_ions  # carbon-13
    assert not {ion.mz for ion in one.ions} & set(one.other_ions)
    assert one.current_share == pytest.approx(1 / (1 + 0.3238 + 0.8), abs=0.001)


def test_all_that_may_be_said_is_taken(tmp_path):
    columns = (
        HEAD
        + ",u_index,quantifier_ion,cas,smiles,aromatic,kind,group,index_source,other_ions,current_share,boiling_c,hazard"
    )
    row = '1-chlorotetradecane,C14H29Cl,1672,91,"93 105:14 55:75",8,C4H8Cl,2425-54-9,CCCCCCCCCCCCCCCl,no,product,1-chloroalkane,my standard,"41-44 69",0.15,292,chlorinated aliphatics'
    (one,) = read(tmp_path, columns, row)
    assert one.ions[1].share == pytest.approx(isotope_share("C4H8Cl", 93, 91))
    assert (one.u_index, one.boiling_c, one.current_share) == (8, 292, 0.15)
    assert (one.hazards, one.group, one.index_source) == (("chlorinated aliphatics",), "1-chloroalkane", "my standard")
    assert {41, 42, 43, 44, 69} <= set(one.other_ions)
    assert not one.aromatic


def test_a_built_in_target_written_as_a_users_comes_out_alike(tmp_path):
    ours = target_named("1,2,4-trichlorobenzene")
    (one,) = read(tmp_path, HEAD, '"1,2,4-trichlorobenzene again",C6H3Cl3,1181,180,"182 184 145:25 109:15"')
    for mine, theirs in zip(ours.ions, one.ions, strict=True):
        assert (mine.mz, mine.role) == (theirs.mz, theirs.role)
        assert mine.share == pytest.approx(theirs.share)


@pytest.mark.parametrize("part", [";", "\t"])
def test_semicolons_and_tabs_part_columns_too(tmp_path, part):
    (one,) = read(
        tmp_path,
        HEAD.replace(",", part),
        part.join(("x", "C6H5Cl", "851,5" if part == ";" else "851.5", "112", "77:55")),
    )
    assert one.index == 851.5


@pytest.mark.parametrize(
    ("row", "message"),
    [
        ("x,C6H5X,850,112,77:55", "line 2, formula: found 'C6H5X'; expected a formula such as C6H5Cl"),
        ("x,C6H6,850,78,77:55", "formula: found 'C6H6', which has no chlorine; expected a chlorinated compound"),
        ("x,C6H5Cl,hot,112,77:55", "index"),
        ("x,C6H5Cl,9,112,77:55", "line 2, index: found 9; expected 100 to 6000"),
        ("x,C6H5Cl,850,111,77:55", "quantifier: found 111; expected one of 112, 114"),
        ("x,C6H5Cl,850,112.5,77:55", "quantifier: found 112.5; expected a nominal mass"),
        ("x,C6H5Cl,850,112,77", "qualifiers: found '77' without a height"),
        ("x,C6H5Cl,850,112,77:fifty", "qualifiers: found '77:fifty'; expected m/z and height"),
        ("x,C6H5Cl,850,112,77:55 77:50", "qualifiers: found 77 twice"),
        ("x,C6H5Cl,850,112,77:55 114:64", "qualifiers: found 114:64; expected 114:32.2, as the isotopes"),
        ("x,C6H5Cl,850,112,146:55", "qualifiers: found 146; expected at most 114"),
        ("x,C6H5Cl,850,112,114", "one fragment at least"),
        ("chlorobenzene,C6H5Cl,850,112,77:55", "which stands in the built-in table; expected a name of its own"),
        (",C6H5Cl,850,112,77:55", "line 2, name: found nothing; expected a value of name"),
    ],
)
def test_each_fault_of_a_row_is_one_clear_line(tmp_path, row, message):
    told = faults(tmp_path, HEAD, row)
    assert any(message in line for line in told), told
    assert all(line.startswith("targets.csv") for line in told)


@pytest.mark.parametrize(
    ("column", "cell", "message"),
    [
        ("smiles", "c1ccccc", "smiles: found 'c1ccccc', no structure"),
        ("smiles", "Clc1ccccc1Cl", "smiles: found a structure of C6H4Cl2; expected one of C6H5Cl"),
        ("smiles", "[Xe]", "smiles: found a structure of Xe; expected one of C6H5Cl"),
        ("cas", "108-90-8", "cas: found '108-90-8'; expected a CAS number with its check digit"),
        ("cas", "chlorobenzene", "expected a CAS number"),
        ("kind", "poison", "kind: found 'poison'; expected one of product, solvent, internal standard"),
        ("aromatic", "maybe", "aromatic: found 'maybe'; expected one of yes, no"),
        ("other_ions", "39-37", "other_ions: found '39-37'; expected masses and ranges"),
        ("quantifier_ion", "C7H7Cl", "quantifier_ion: found 'C7H7Cl'; expected an ion made of atoms of C6H5Cl"),
        ("quantifier_ion", "C6H5", "which has no chlorine"),
        ("quantifier_ion", "benzene", "quantifier_ion: found 'benzene'; expected a formula"),
        ("hazard", "nasty", "hazard: found 'nasty'; expected one of chlorobenzenes"),
        ("u_index", "0", "u_index: found 0; expected 0.5 to 300"),
        ("current_share", "1.5", "current_share: found 1.5; expected 0.001 to 1"),
    ],
)
def test_each_fault_of_what_may_be_said_is_one_clear_line(tmp_path, column, cell, message):
    told = faults(tmp_path, f"{HEAD},{column}", f"x,C6H5Cl,850,112,77:55,{cell}")
    assert any(message in line for line in told), told


def test_a_ring_that_contradicts_the_structure_is_a_fault(tmp_path):
    told = faults(tmp_path, HEAD + ",smiles,aromatic", "x,C6H5Cl,850,112,77:55,Clc1ccccc1,no")
    assert told == ["targets.csv, line 2, aromatic: found 'no'; expected 'yes', as its structure has it"]


def test_columns_that_are_unknown_doubled_or_missing_are_told_at_once(tmp_path):
    told = faults(tmp_path, "name,formula,quantifier,qualifiers,formla,name", "x,C6H5Cl,112,77:55,y,z")
    assert any("unknown column 'formla'" in line and "Did you mean 'formula'?" in line for line in told)
    assert any("column 'name' 2 times" in line for line in told)
    assert any("no column index" in line for line in told)


def test_a_name_may_stand_once(tmp_path):
    row = "x,C6H5Cl,850,112,77:55"
    assert "'X', which stands in line 2" in faults(tmp_path, HEAD, row, row.replace("x,", "X,"))[0]


def test_every_fault_of_a_table_is_told_together(tmp_path):
    told = faults(tmp_path, HEAD, "a,C6H6,850,78,77:55", "b,C6H5Cl,850,111,77:55", "c,C6H5Cl,850,112,77:55")
    assert [line.split(",")[1].strip() for line in told] == ["line 2", "line 3"]


def test_a_file_that_is_none_is_one_clear_line(tmp_path):
    with pytest.raises(InputError, match="no such file"):
        user_targets(tmp_path, "nothing.csv")
    (tmp_path / "noise.csv").write_bytes(b"\x00\x01\x02" * 50)
    with pytest.raises(InputError, match="noise.csv"):
        user_targets(tmp_path, "noise.csv")
    (tmp_path / "other.csv").write_text("time,signal\n1,2\n2,3\n", encoding="utf-8")
    with pytest.raises(InputError, match="no line of headings"):
        user_targets(tmp_path, "other.csv")


def test_nothing_is_written_beside_the_message(tmp_path, capfd):
    faults(tmp_path, HEAD + ",smiles", "x,C6H5Cl,850,112,77:55,c1ccccc")
    assert capfd.readouterr() == ("", "")
