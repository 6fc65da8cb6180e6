"""Spectra of compounds by name, typed in as ions with heights: round figures from memory, for invented runs alone."""

from __future__ import annotations

from functools import cache

from simulated_spectra import Spectrum, ions

NAMED: dict[str, str] = {  # compounds that no series describes
    "benzene": "C6H6 100 C6H5 20 C4H4 17 C4H3 16 C4H2 13 C3H3 10 C6H4 4 C6H2 4",
    "toluene": "C7H7 100 C7H8 68 C5H5 12 C5H3 7 C3H3 10 C4H3 7 C4H2 4 C7H5 4",
    "ethylbenzene": "C7H7 100 C8H10 32 C5H5 9 C6H5 8 C4H3 11 C6H6 6 C3H3 7 C8H9 5 C8H7 3 C4H2 4",
    "m-xylene": "C7H7 100 C8H10 52 C8H9 23 C6H5 12 C3H3 9 C4H3 9 C6H7 8 C5H5 7 C8H7 6 C5H3 5",
    "o-xylene": "C7H7 100 C8H10 46 C8H9 19 C6H5 12 C3H3 9 C4H3 10 C6H7 8 C5H5 7 C8H7 6 C5H3 5",
    "styrene": "C8H8 100 C8H7 46 C6H6 42 C4H3 24 C6H5 20 C4H2 11 C5H3 8 C3H3 10 C8H6 9 C6H2 5",
    "alpha-methylstyrene": "C9H10 100 C9H9 65 C8H7 45 C6H6 24 C6H5 14 C4H3 16 C9H7 15 C7H7 12 C3H3 11",
    "indene": "C9H8 100 C9H7 80 C5H3 10 C7H5 9 C3H3 9 C4H3 7 C4H2 4",
    "dihydronaphthalene": "C10H10 100 C10H9 70 C9H7 58 C10H8 32 C4H3 12 C5H3 8 C6H5 6 C7H7 5",
    "biphenyl": "C12H10 100 C12H9 38 C12H8 28 C6H4 28 C9H7 4 C4H3 8 C6H5 5 C5H3 4",
    "diphenylmethane": "C13H12 100 C13H11 72 C12H8 25 C7H7 32 C5H5 12 C12H9 12 C4H3 9 C13H9 28",
    "acenaphthylene": "C12H8 100 C12H7 17 C12H6 12 C6H4 11 C6H3 4 C5H3 5",
    "fluorene": "C13H10 100 C13H9 85 C13H7 11 C11H7 4 C12H8 3 C5H3 4",
    "phenanthrene": "C14H10 100 C14H8 17 C12H8 8 C14H9 8 C6H4 22 C7H5 20",
    "1,3-diphenylpropane": "C7H8 100 C8H9 30 C7H7 75 C15H16 28 C6H5 14 C5H5 14 C4H3 8",
    "2,4-diphenyl-1-butene": "C7H7 100 C16H16 32 C8H8 45 C9H9 28 C10H10 40 C9H7 24 C8H7 20 C6H5 18 C5H5 14 C4H3 9",
    "2,4,6-triphenyl-1-hexene": "C7H7 100 C24H24 12 C9H9 40 C16H15 30 C15H14 22 C8H8 18 C9H7 16 C6H5 9 C8H9 12",
    "phenol": "C6H6O 100 C5H6 28 C5H5 24 C3H3 14 C4H3 5 C4H2 5 C5H3 4",
    "acetophenone": "C7H5O 100 C6H5 76 C8H8O 28 C4H3 28 C2H3O 18 C4H2 11",
    "benzoic acid": "C7H5O 100 C7H6O2 78 C6H5 70 C4H3 34 C4H2 20",
    "vinyl benzoate": "C7H5O 100 C6H5 42 C4H3 17 C9H8O2 4 C4H2 7",
    "limonene": "C5H8 100 C7H9 68 C10H16 20 C9H13 20 C5H7 50 C3H3 22 C3H5 22 C8H11 12 C6H9 14 C7H10 20 C4H5 18",
    "4-vinylcyclohexene": "C4H6 100 C6H7 60 C5H6 40 C8H12 14 C5H7 30 C6H8 36 C7H9 20 C3H3 35 C3H5 18 C6H6 14 C6H5 13",
    "2,4-dimethyl-1-heptene": "C5H10 100 C4H7 55 C3H7 62 C3H5 38 C6H11 32 C5H9 22 C4H9 22 C4H8 24 "
    "C9H18 8 C8H15 3 C7H14 2",
    "2-ethyl-1-hexene": "C5H10 100 C4H7 95 C3H5 70 C4H8 25 C6H11 26 C5H9 28 C8H16 19 C3H7 28 C4H9 12 C6H12 12",
    "2-ethylhexanol": "C4H9 100 C3H7 38 C3H5 35 C4H7 34 C5H10 30 C6H11 28 C4H8 18 C5H9 10 C8H16 6 C7H14 6",
    "phthalic anhydride": "C7H4O 100 C6H4 85 C4H2 42 C8H4O3 26 C6H2 9 C4H3 4",
    "di(2-ethylhexyl) phthalate": "C8H5O3 100 C8H7O4 36 C4H9 30 C5H11 22 C5H10 18 C3H7 16 C8H16 8 C16H23O4 12 C8H17 7",
    "D3": "C5H15O3Si3 100 C4H11O3Si3 8 C3H7O3Si3 5",
    "D4": "C7H21O4Si4 100 C6H17O4Si4 8 C3H9Si 14 C5H13O3Si3 6",
    "D5": "C3H9Si 100 C5H15O5Si4 70 C9H27O5Si5 60",
    "D6": "C3H9Si 100 C7H21O6Si5 62 C5H15OSi2 18",
    "bleed": "C5H15O3Si3 100 C3H9Si 45 C7H21O4Si4 28 C5H15OSi2 16 C4H11O3Si3 10 C6H17O4Si4 6 C9H27O5Si5 12",
}
CHLORINATED: dict[str, tuple[float, str]] = {  # index on 5 % phenyl, from memory, and spectrum
    "1-chlorohexane": (
        856,
        "C4H8Cl 100 C3H7 62 C3H5 48 C4H7 70 C4H8 60 C5H9 32 C4H9 20 C6H12 10 C5H10Cl 4 C6H13Cl 0.3",
    ),
    "chlorobenzene": (848, "C6H5Cl 100 C6H5 55 C4H3 18 C4H2 15 C6H4 5 C6H3 5 C6H2 7 C3H2 4"),
    "chlorocyclohexane": (872, "C6H10 100 C5H7 95 C3H5 52 C4H6 38 C4H7 48 C6H11 28 C3H3 22 C6H11Cl 10"),
    "2-chlorotoluene": (951, "C7H7 100 C7H7Cl 35 C7H6Cl 10 C5H3 9 C7H5 10 C5H5 9 C3H3 8 C4H3 4 C7H6 6"),
    "4-chlorotoluene": (957, "C7H7 100 C7H7Cl 35 C7H6Cl 15 C5H3 9 C7H5 8 C5H5 9 C3H3 7 C4H3 4"),
    "2-chlorophenol": (988, "C6H5ClO 100 C5H4 48 C5H3 24 C6H4O 15 C5H5 20 C5H5Cl 9 C3H3 10 C4H3 4"),
    "1,3-dichlorobenzene": (1008, "C6H4Cl2 100 C6H4Cl 36 C6H3 22 C6H2 14 C4H2 11 C6H 9 C6H3Cl 5 C6H4 3"),
    "1,4-dichlorobenzene": (1014, "C6H4Cl2 100 C6H4Cl 36 C6H3 22 C6H2 14 C4H2 11 C6H 9 C6H3Cl 5 C6H4 3"),
    "benzyl chloride": (1015, "C7H7 100 C7H7Cl 24 C5H5 11 C5H3 7 C3H3 7 C7H5 5 C4H3 4 C7H6Cl 3"),
    "1,2-dichlorobenzene": (1036, "C6H4Cl2 100 C6H4Cl 40 C6H3 24 C6H2 14 C4H2 12 C6H 9 C6H3Cl 5 C6H4 3"),
    "2-chloro-2-methylheptane": (
        930,
        "C4H8 100 C3H6Cl 55 C4H9 60 C3H7 55 C3H5 55 C5H9 45 C8H16 14 C5H11 22 C7H13 12 C7H14Cl 3",
    ),
    "(1-chloroethyl)benzene": (1060, "C8H9 100 C8H9Cl 22 C6H5 20 C6H7 12 C8H7 16 C8H8 14 C7H6Cl 7 C4H3 14 C6H6 8"),
    "1-chlorooctane": (
        1058,
        "C4H8Cl 100 C3H7 70 C4H7 66 C3H5 60 C5H9 55 C4H8 40 C4H9 30 C5H10Cl 30 C5H10 28 C6H11 22 C8H16 3 C8H17Cl 0.2",
    ),
    "4-chlorostyrene": (1078, "C8H7Cl 100 C8H7 66 C6H5 25 C8H6 16 C4H3 18 C4H2 12 C6H3 8 C5H3 6 C6H4Cl 6"),
    "(2-chloroethyl)benzene": (1095, "C7H7 100 C8H9Cl 26 C5H5 12 C3H3 6 C4H3 6 C8H8 8 C5H3 4 C7H8 6"),
    "1,3,5-trichlorobenzene": (1145, "C6H3Cl3 100 C6H3Cl2 26 C6H2Cl 12 C6H3 5 C6H2 15 C6H 8 C4H2 5"),
    "1,2,4-trichlorobenzene": (1185, "C6H3Cl3 100 C6H3Cl2 26 C6H2Cl 15 C6H3 5 C6H2 15 C6H 8 C4H2 5"),
    "4-chlorophenol": (1192, "C6H5ClO 100 C5H5 36 C5H4 16 C5H3 11 C5H5Cl 10 C3H3 10 C6H4O 2"),
    "1,2,4,5-tetrachlorobenzene": (1345, "C6H2Cl4 100 C6H2Cl3 18 C6H2Cl2 8 C6HCl 10 C6H2 5"),
    "2-chloroethyl benzoate": (1382, "C7H5O 100 C6H5 44 C4H3 16 C7H6O2 22 C9H9ClO2 2 C9H9O2 4 C4H2 7"),
    "1-chloronaphthalene": (1385, "C10H7Cl 100 C10H7 28 C10H6 13 C5H3 6 C6H3 4 C8H5 3"),
    "2-chlorobiphenyl": (1490, "C12H9Cl 100 C12H8 42 C12H9 20 C6H4 10 C4H3 4 C12H7 9"),
    "4-chlorobiphenyl": (1565, "C12H9Cl 100 C12H8 34 C12H9 12 C6H4 14 C4H3 4 C12H7 8"),
    "1-chlorododecane": (
        1460,
        "C4H8Cl 100 C3H7 75 C4H9 62 C4H7 72 C5H9 55 C3H5 55 C5H10Cl 32 C5H11 26 C6H11 30 C7H13 14 C12H25Cl 0.1",
    ),
    "hexachlorobenzene": (1740, "C6Cl6 100 C6Cl5 24 C6Cl4 16 C6Cl2 16 C6Cl3 9"),
}
STANDARDS: dict[str, tuple[float, str]] = {  # index from memory, and spectrum
    "chlorobenzene-d5": (845, "C6D5Cl 100 C6D5 60 C4D3 18 C4D2 15 C6D4 5"),
}


@cache
def named(name: str) -> Spectrum:
    """The spectrum of a compound of `NAMED`, `CHLORINATED` or `STANDARDS`."""
    return ions(NAMED[name] if name in NAMED else (CHLORINATED | STANDARDS)[name][1])
