"""Targets of a user's own table, each held against what its formula and structure allow."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import cast

from cutbook.identification.isotope_pattern import checked_atoms, isotope_pattern, nominal_mass
from cutbook.identification.target_table import SAME_ION_U, molar_mass, ranges, targets
from cutbook.importers.target_file import WrittenTarget, read_targets
from cutbook.importers.trace_file import open_trace_file
from cutbook.model.chlorine import Target, TargetIon, TargetKind
from cutbook.model.errors import Fault, InputError, printable
from cutbook.model.tables import reference

UNSTATED_U_INDEX = 20.0
"""Standard uncertainty of an index whose uncertainty nobody states: that of most indices from memory."""
_FRAGMENT_U = 0.3  # relative; public spectra of one compound scatter by a factor of two
_AGREES = 0.25  # relative, between an isotopologue as written and by theory
Note = Callable[[str, str, str], None]
"""Notes one fault of a row: column, found, expected."""


def user_targets(folder: Path, name: str) -> tuple[Target, ...]:
    """Targets of a table, to be looked for beside the built-in ones.

    Parameters
    ----------
    folder : the run folder. name : of the table in it (CSV, TSV or XLSX with columns name, formula, index, quantifier
        and qualifiers; see `importers/target_file.py` for those that may stand beside them).

    Returns
    -------
    tuple of Target
        What is not stated: the index is uncertain by ± 20; the strongest isotopologue of the quantifier is its partner;
        current_share is the quantifier's in the ions named with their isotopologues, an upper bound; a compound without
        a structure is aromatic when it has four rings or double bonds or more.

    Raises
    ------
    InputError
        One line for each fault: an unknown column, a formula that is none or without chlorine, a structure, a CAS
        number or an ion that contradicts it, a name twice or of the built-in table.
    """
    file = open_trace_file(folder, name)
    rows = read_targets(file)
    faults: list[Fault] = []
    found = []
    names = {target.name.casefold(): "the built-in table" for target in targets()}
    for row in rows:

        def note(column: str, met: str, expected: str, place: str = row.place) -> None:
            faults.append(Fault(file.name, f"{place}, {column}", met, expected))

        written = row.texts["name"]
        if written.casefold() in names:
            taken = names[written.casefold()]
            note("name", f"'{printable(written, 60)}', which stands in {taken}", "a name of its own")
        names.setdefault(written.casefold(), row.place)
        target = _target(row, f"{file.name}, {row.place}", note)
        if target is not None:
            found.append(target)
    if faults:
        raise InputError(*faults)
    return tuple(found)


def _target(row: WrittenTarget, place: str, note: Note) -> Target | None:
    texts = row.texts
    try:
        atoms = checked_atoms(texts["formula"])
    except InputError as refused:
        note("formula", refused.faults[0].found, refused.faults[0].expected)
        return None
    chlorine = atoms.get("Cl", 0)
    if not chlorine:
        note("formula", f"'{texts['formula']}', which has no chlorine", "a chlorinated compound")
        return None
    _check_cas(texts["cas"], note)
    aromatic = _aromatic(texts, atoms, note)
    if texts["hazard"] and texts["hazard"] not in (known := _hazard_groups()):
        note("hazard", f"'{printable(texts['hazard'], 60)}'", "one of " + ", ".join(known))
    try:
        others = ranges(texts["other_ions"])
    except ValueError:
        note("other_ions", f"'{printable(texts['other_ions'], 60)}'", "masses and ranges, such as 37-39 50")
        others = ()
    quantifier_ion = _quantifier_ion(row, atoms, note)
    if quantifier_ion is None:
        return None
    ions = _ions(row, quantifier_ion, nominal_mass(atoms) + 2 * chlorine, note)
    own = {ion.mz for ion in ions}
    isotopes = {mz + offset for mz in own for offset in (1, 2)}
    upper = 1.0 / sum(ion.share for ion in ions)
    return Target(
        name=texts["name"], formula=texts["formula"], cas=texts["cas"], smiles=texts["smiles"],
        chlorine_atoms=chlorine, aromatic=aromatic, kind=cast(TargetKind, texts["kind"] or "product"),
        group=texts["group"] or texts["name"], index=row.numbers["index"],
        u_index=row.numbers.get("u_index", UNSTATED_U_INDEX),
        index_source=texts["index_source"] or "the user's table", ions=ions,
        other_ions=tuple(sorted((set(others) | isotopes) - own)),
        current_share=row.numbers.get("current_share", upper), molar_mass=molar_mass(texts["formula"]),
        boiling_c=row.numbers.get("boiling_c"), hazards=(texts["hazard"],) if texts["hazard"] else (), place=place,
    )  # fmt: skip


def _hazard_groups() -> list[str]:
    return list(dict.fromkeys(row["group"] for row in reference("hazard_statements").rows))


def _check_cas(cas: str, note: Note) -> None:
    digits = cas.replace("-", "")
    whole = cas.count("-") == 2 and digits.isascii() and digits.isdigit()
    total = sum(position * int(digit) for position, digit in enumerate(reversed(digits[:-1]), 1)) if whole else -1
    if cas and (not whole or total % 10 != int(digits[-1])):
        note("cas", f"'{printable(cas, 30)}'", "a CAS number with its check digit, such as 108-90-7")


def _aromatic(texts: Mapping[str, str], atoms: Mapping[str, int], note: Note) -> bool:
    """Whether it has an aromatic ring; by the structure, what is said, or the rings and double bonds of the formula."""
    said = texts["aromatic"]
    if not texts["smiles"]:
        monovalent = sum(atoms.get(element, 0) for element in ("H", "D", "F", "Cl", "Br"))
        unsaturated = atoms.get("C", 0) + atoms.get("Si", 0) + 1 + (atoms.get("N", 0) - monovalent) / 2
        return said == "yes" if said else unsaturated >= 4
    from rdkit import Chem, rdBase
    from rdkit.Chem.rdMolDescriptors import CalcMolFormula

    with rdBase.BlockLogs():
        molecule = Chem.MolFromSmiles(texts["smiles"]) if len(texts["smiles"]) <= 500 else None
    if molecule is None:
        note("smiles", f"'{printable(texts['smiles'], 60)}', no structure", "a structure as SMILES")
        return said == "yes"
    formula = CalcMolFormula(molecule, separateIsotopes=True, abbreviateHIsotopes=True)
    try:
        same = checked_atoms(formula) == atoms
    except InputError:
        same = False
    if not same:
        note("smiles", f"a structure of {formula}", f"one of {texts['formula']}")
    ring = any(atom.GetIsAromatic() for atom in molecule.GetAtoms())
    if said and (said == "yes") != ring:
        note("aromatic", f"'{said}'", f"'{'yes' if ring else 'no'}', as its structure has it")
    return bool(ring)


def _quantifier_ion(row: WrittenTarget, atoms: Mapping[str, int], note: Note) -> Mapping[str, int] | None:
    """Atoms of the quantifier's ion; None, with the fault noted, when it cannot be one of the compound."""
    mz, written = row.numbers["quantifier"], row.texts["quantifier_ion"]
    if mz != int(mz):
        note("quantifier", f"{mz:g}", "a nominal mass")
        return None
    ion: Mapping[str, int] = atoms
    if written:
        try:
            ion = checked_atoms(written)
        except InputError as refused:
            note("quantifier_ion", refused.faults[0].found, refused.faults[0].expected)
            return None
        if any(count > atoms.get(element, 0) for element, count in ion.items()):
            note("quantifier_ion", f"'{written}'", f"an ion made of atoms of {row.texts['formula']}")
            return None
    lightest, chlorine = nominal_mass(ion), ion.get("Cl", 0)
    if not chlorine:
        note(
            "quantifier_ion",
            f"'{written}', which has no chlorine",
            "an ion with chlorine and so with an isotope partner",
        )
        return None
    allowed = [lightest + 2 * heavy for heavy in range(chlorine + 1)]
    if int(mz) not in allowed:
        shown = ", ".join(map(str, allowed))
        expected = f"one of {shown}" if written else f"one of {shown}, or the formula of a fragment in quantifier_ion"
        note("quantifier", f"{mz:g}", expected)
        return None
    return ion


def _ions(row: WrittenTarget, ion: Mapping[str, int], heaviest: int, note: Note) -> tuple[TargetIon, ...]:
    """The quantifier, its isotope partners by theory, and fragments as written."""
    quantifier = int(row.numbers["quantifier"])
    lightest = nominal_mass(ion)
    pattern = {lightest + offset: share for offset, share in isotope_pattern(ion) if offset % 2 == 0}
    partners = {mz: share / pattern[quantifier] for mz, share in pattern.items() if mz != quantifier}
    found = [TargetIon(quantifier, 1.0, "quantifier", 0.0)]
    seen = {quantifier}
    fragments: list[TargetIon] = []
    for mz, percent in row.qualifiers:
        if mz in seen:
            note("qualifiers", f"{mz} twice", "each ion once")
            continue
        seen.add(mz)
        if mz > heaviest:
            note("qualifiers", f"{mz}", f"at most {heaviest}, the heaviest of {row.texts['formula']}")
        elif mz in partners:
            share = partners[mz]
            if percent is not None and abs(percent / 100 - share) > _AGREES * share:
                note("qualifiers", f"{mz}:{percent:g}", f"{mz}:{100 * share:.3g}, as the isotopes of chlorine have it")
            found.append(TargetIon(mz, share, "isotope partner", SAME_ION_U))
        elif percent is None:
            note("qualifiers", f"'{mz}' without a height", f"{mz} with its height in % of the quantifier's")
        else:
            fragments.append(TargetIon(mz, percent / 100, "qualifier", _FRAGMENT_U))
    if len(found) == 1:
        strongest = max(partners, key=lambda mz: partners[mz])
        found.append(TargetIon(strongest, partners[strongest], "isotope partner", SAME_ION_U))
    if not fragments:
        note(
            "qualifiers", f"'{row.texts['qualifiers']}'", "one fragment at least beside isotope partners, such as 77:55"
        )
    return (*found, *fragments)
