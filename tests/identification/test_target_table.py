"""Targets as records, and their ions against public spectra."""

import csv
import re
from pathlib import Path

import pytest

from cutbook.identification.target_table import ranges, target_named, targets

SPECTRA = Path(__file__).parents[3] / "shared" / "data" / "ei-massbank"
NAMES = {
    "2-phenylethyl chloride": "(2-chloroethyl)benzene",
    "1-phenyl-1-chloroethane": "(1-chloroethyl)benzene",
    "PCB-52": "2,2',5,5'-tetrachlorobiphenyl",
    "PCB-18": "2,2',5-trichlorobiphenyl",
    "1,2,3,4-Tetrachloronaphthalene": "1,2,3,4-tetrachloronaphthalene",
}  # fmt: skip
FAULTY = {
    "JP003621": "184 and 145 are a tenth of theory and of the other isomers: decimal points misplaced",
    "JP005287": "82, the base peak in other collections, is absent",
}  # fmt: skip


def public_spectra():
    """(target, record, {nominal mass: intensity}) of each public record of a target."""
    if not SPECTRA.is_dir():
        pytest.skip("public EI spectra beside the repository are absent")
    known = {target.name: target for target in targets()}
    with (SPECTRA.parent / "MANIFEST-massbank.csv").open(encoding="utf-8") as table:
        for row in csv.DictReader(table):
            target = known.get(NAMES.get(row["compound"], row["compound"]))
            if target is None:
                continue
            text = (SPECTRA / row["record"]).read_text(encoding="utf-8")
            peaks = re.search(r"PK\$PEAK:.*\n((?:  .*\n)+)", text)[1]
            heights = {}
            for line in peaks.splitlines():
                mz, height, _ = line.split()
                heights[round(float(mz))] = heights.get(round(float(mz)), 0.0) + float(height)
            yield target, row["record"], heights


def test_ions_of_the_public_spectra_are_all_named():
    compared = 0
    for target, record, heights in public_spectra():
        own = {ion.mz for ion in target.ions} | set(target.other_ions)
        heaviest = max(own)
        # the orbital trap shows adducts above the molecule; 2.5 %: two old spectra hold an impurity of 2.3 %
        strange = {
            mz: h for mz, h in heights.items() if h > 0.025 * max(heights.values()) and mz not in own and mz <= heaviest
        }
        assert not strange, (target.name, record)
        compared += 1
    assert compared >= 20


def test_shares_lie_within_a_factor_of_the_public_spectra():
    compared = 0
    for target, record, heights in public_spectra():
        if any(name in record for name in FAULTY) or "NILU" in record:  # the orbital trap favours fragments twofold
            continue
        quantifier = heights[target.quantifier.mz]
        for ion in target.ions[1:]:
            apart = heights.get(ion.mz, 0.0) / quantifier / ion.share
            factor = 1.2 if ion.role == "isotope partner" else 1 + 3 * ion.u_share
            assert 1 / factor < apart < factor, (target.name, record, ion.mz)
            compared += 1
    assert compared > 50


def test_the_quantifier_has_the_share_of_current_that_public_spectra_give_it():
    for target, record, heights in public_spectra():
        if "NILU" in record or any(name in record for name in FAULTY):
            continue
        current = sum(height for mz, height in heights.items() if mz >= 35)
        assert heights[target.quantifier.mz] / current == pytest.approx(target.current_share, rel=0.35), (
            target.name,
            record,
        )


def test_isotope_partners_are_surer_than_fragments():
    for target in targets():
        for ion in target.ions[1:]:
            assert (ion.u_share <= 0.05) == (ion.role == "isotope partner")
        assert target.quantifier.share == 1 and target.quantifier.u_share == 0


def test_isomers_share_their_ions_and_differ_in_index():
    ortho, para = target_named("2-chlorotoluene"), target_named("4-chlorotoluene")
    assert ortho.ions == para.ions
    assert ortho.group == para.group
    assert ortho.index < para.index


def test_a_homologue_has_no_ions_beyond_its_own_molecule():
    # 1-chlorohexane weighs 120; with chlorine-37 and one carbon-13, 123
    assert max(target_named("1-chlorohexane").other_ions) <= 123
    assert max(target_named("1-chlorododecane").other_ions) > 160


@pytest.mark.parametrize(("text", "numbers"), [("", ()), ("37", (37,)), ("50 37-39 38", (37, 38, 39, 50))])
def test_masses_are_written_as_numbers_and_ranges(text, numbers):
    assert ranges(text) == numbers


@pytest.mark.parametrize("text", ["x", "39-37", "37-", "37-37", "3.5", "-4-5", "37-999999999999"])
def test_what_is_no_range_is_refused(text):
    with pytest.raises(ValueError):
        ranges(text)
