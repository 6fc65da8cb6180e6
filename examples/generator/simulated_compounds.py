"""What an invented pyrolysis oil consists of: compounds of PE, PP, PS and PVC with index and amount, twins included.

Indices (5 % phenyl phase), isomers and amounts are chemistry from memory, in round figures; the minor compounds are
drawn at random. They serve invented runs and prove nothing.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from simulated_named import named
from simulated_spectra import (
    Spectrum,
    alkane,
    alkene,
    alkylbenzene,
    cycloalkane,
    diene,
    indane,
    naphthalene,
    nominal_mass,
)

KINDS: dict[str, dict[str, float]] = {  # shares of what was cracked
    "PE": {"PE": 1.0},
    "PP": {"PP": 1.0},
    "PS": {"PS": 0.9, "PE": 0.1},
    "polyolefin": {"PE": 0.55, "PP": 0.45},
    "mixed": {"PE": 0.45, "PP": 0.35, "PS": 0.2},
    "PVC": {"PE": 0.5, "PP": 0.25, "PS": 0.05, "PVC": 0.2},
}
MAIN_SCATTER = 0.10  # of the logarithm of each fragment's height
MINOR_SCATTER = 0.30  # isomers of a series differ more among themselves


@dataclass(frozen=True)
class Species:
    """One compound: name, retention index, spectrum, relative amount by mass, spread of its fragments."""

    name: str
    index: float
    spectrum: Spectrum
    amount: float
    scatter: float = MAIN_SCATTER


PP_OLIGOMERS = {  # carbon number: (index, amount) of the main isomers
    6: ((585, 2.0),),
    8: ((767, 0.8),),
    12: ((1067, 2.2), (1088, 2.6)),
    15: ((1303, 3.2), (1316, 4.6), (1329, 3.0)),
    18: ((1528, 1.6), (1543, 2.4), (1556, 1.6)),
    21: ((1748, 1.5), (1765, 2.4), (1780, 1.5)),
    24: ((1960, 1.2), (1985, 2.2), (2002, 1.2)),
    27: ((2170, 0.9), (2200, 1.6), (2221, 0.9)),
}
PS_COMPOUNDS = (
    ("toluene", 765, 3.0), ("ethylbenzene", 860, 4.5), ("styrene", 894, 52.0), ("alpha-methylstyrene", 984, 4.5),
    ("acetophenone", 1068, 0.1), ("indene", 1044, 0.2), ("biphenyl", 1386, 0.3), ("diphenylmethane", 1446, 0.4),
    ("1,3-diphenylpropane", 1655, 2.0), ("2,4-diphenyl-1-butene", 1742, 9.0), ("2,4,6-triphenyl-1-hexene", 2480, 5.0),
    ("phenanthrene", 1785, 0.1),
)  # fmt: skip
PVC_COMPOUNDS = (
    ("benzene", 662, 14.0), ("toluene", 765, 9.0), ("ethylbenzene", 860, 3.0), ("m-xylene", 869, 3.5),
    ("o-xylene", 891, 2.5), ("styrene", 894, 2.5), ("alpha-methylstyrene", 984, 0.8), ("indene", 1044, 3.5),
    ("biphenyl", 1386, 1.0), ("fluorene", 1590, 0.6), ("phenanthrene", 1785, 0.6), ("acenaphthylene", 1455, 0.4),
)  # fmt: skip
AROMATIC_RANGES = {  # carbon number: lowest and highest index
    9: (925, 1028), 10: (995, 1125), 11: (1085, 1225), 12: (1180, 1320), 13: (1280, 1410),
}  # fmt: skip
TWINS = (  # alkene and alkane (or the like) two units apart, and the index about which they are put together on purpose
    (lambda: cycloalkane(8), lambda: alkane(8, True), 846.0),  # 112/114, chlorobenzene
    (lambda: alkene(9, "internal"), lambda: alkane(9, True), 955.0),  # 126/128, chlorotoluenes
    (lambda: alkene(9, "branched"), lambda: alkane(9, True), 1013.0),  # 126/128, benzyl chloride
    (lambda: diene(10), lambda: alkene(10, "internal"), 1030.0),  # 138/140, chlorostyrenes
    (lambda: diene(10), lambda: alkene(10, "branched"), 1077.0),
    (lambda: alkene(10, "internal"), lambda: alkane(10, True), 1062.0),  # 140/142, (chloroethyl)benzenes
    (lambda: alkene(10, "branched"), lambda: alkane(10, True), 1094.0),
    (lambda: indane(11), lambda: alkylbenzene(11), 1012.0),  # 146/148, dichlorobenzenes
    (lambda: indane(11), lambda: alkylbenzene(11, "ethyl"), 1037.0),
    (lambda: naphthalene(10), lambda: named("dihydronaphthalene"), 1190.0),  # 128/130, 4-chlorophenol
)


def polyethylene(rng: np.random.Generator, minor: int) -> list[Species]:
    """Triplets by carbon number, and `minor` other alkenes, branched alkanes and rings between them."""
    found = []
    carbons = np.arange(5, 33)
    bell = np.exp(-0.5 * ((carbons - 12.0) / 6.5) ** 2)
    bell /= bell.sum()
    for n, share in zip(carbons.tolist(), 72.0 * bell, strict=True):
        for name, index, spectrum, part in (
            ("diene", -18.0, diene(n), 0.14), ("1-alkene", -9.0, alkene(n), 0.44), ("n-alkane", 0.0, alkane(n), 0.42),
        ):  # fmt: skip
            found.append(Species(f"{name} C{n}", 100 * n + index, spectrum, share * part))
    found.append(Species("benzene", 662, named("benzene"), 0.3))
    found.append(Species("toluene", 765, named("toluene"), 0.5))
    found.append(Species("ethylbenzene", 860, named("ethylbenzene"), 0.15))
    kinds = rng.choice(6, minor, p=[0.3, 0.12, 0.22, 0.16, 0.1, 0.1])
    drawn = rng.choice(carbons[1:], minor, p=bell[1:] / bell[1:].sum())
    amounts = _log_normal(rng, minor, 25.0)
    for kind, n, amount in zip(kinds.tolist(), drawn.tolist(), amounts, strict=True):
        name, spectrum, low, high = (
            ("internal alkene", alkene(n, "internal"), -8, 22),
            ("branched alkene", alkene(n, "branched"), -75, -12),
            ("branched alkane", alkane(n, True), -70, -22),
            ("cyclohexane", cycloalkane(max(n, 7)), 15, 48),
            ("cyclopentane", cycloalkane(max(n, 6), 5), 5, 45),
            ("branched diene", diene(n), -60, 20),
        )[kind]
        found.append(Species(f"{name} C{n}", 100 * n + rng.uniform(low, high), spectrum, amount, MINOR_SCATTER))
    return found


def polypropylene(rng: np.random.Generator, minor: int) -> list[Species]:
    """2,4-dimethyl-1-heptene, oligomers by three carbons, and `minor` isomers around them."""
    found = [
        Species("2,4-dimethyl-1-heptene", 842.0, named("2,4-dimethyl-1-heptene"), 17.0),
        Species("2,4-dimethylheptane", 821.0, alkane(9, True), 0.8),
    ]
    for n, isomers in PP_OLIGOMERS.items():
        for place, (index, amount) in enumerate(isomers, 1):
            spectrum = alkane(8, True) if n == 8 else alkene(n, "branched")
            found.append(Species(f"propylene oligomer C{n} {place}", index, spectrum, amount))
    lengths = rng.choice([9, 10, 11, 12, 13, 14, 15, 16, 18, 19, 21, 24], minor)
    amounts = _log_normal(rng, minor, 22.0)
    for n, amount in zip(lengths.tolist(), amounts, strict=True):
        kind = rng.integers(4)
        spectrum = (alkene(n, "branched"), alkene(n, "internal"), diene(n), alkane(n, True))[kind]
        middle = np.interp(n, [9, 12, 15, 18, 21, 24], [850, 1075, 1310, 1540, 1762, 1980])
        index = middle + rng.normal(0, 30)
        found.append(Species(f"branched C{n}", index, spectrum, amount, MINOR_SCATTER))
    return found


def polystyrene(rng: np.random.Generator, minor: int) -> list[Species]:
    """Styrene, its dimer and trimer and what goes with them, and `minor` aromatics."""
    found = [Species(name, index, named(name), amount) for name, index, amount in PS_COMPOUNDS]
    return found + aromatics(rng, minor, 8.0)


def polyvinylchloride(rng: np.random.Generator, minor: int) -> list[Species]:
    """The aromatics that are left of PVC once hydrogen chloride is gone, `minor` of them drawn at random."""
    found = [Species(name, index, named(name), amount) for name, index, amount in PVC_COMPOUNDS]
    for n, index, amount in ((10, 1186, 6.0), (11, 1298, 2.0), (11, 1315, 1.6)):
        found.append(Species(f"naphthalene C{n}", index, naphthalene(n), amount))
    return found + aromatics(rng, minor, 40.0)


def aromatics(rng: np.random.Generator, count: int, whole: float) -> list[Species]:
    """Alkylbenzenes, indanes and naphthalenes of C9 to C13."""
    found = []
    for amount in _log_normal(rng, count, whole):
        n = int(rng.choice([9, 10, 11, 12, 13], p=[0.22, 0.3, 0.22, 0.16, 0.1]))
        low, high = AROMATIC_RANGES[n]
        kind = rng.integers(5)
        name, spectrum = (
            ("methylbenzenes", alkylbenzene(n, "methyl")),
            ("ethylbenzenes", alkylbenzene(n, "ethyl")),
            ("phenylalkane", alkylbenzene(n, "chain")),
            ("indane", indane(n)),
            ("naphthalene", naphthalene(n)) if n >= 11 else ("indane", indane(n)),
        )[kind]
        shift = 90 if name == "naphthalene" else 25 if name == "indane" else 0
        found.append(Species(f"{name} C{n}", rng.uniform(low, high) + shift, spectrum, amount, MINOR_SCATTER))
    return found


def plasticiser(rng: np.random.Generator) -> list[Species]:
    """What a phthalate leaves: 2-ethyl-1-hexene and its isomers, 2-ethylhexanol, phthalic anhydride, the ester."""
    amount = rng.uniform(0.3, 3.0)
    found = [
        Species("2-ethyl-1-hexene", 785.0, named("2-ethyl-1-hexene"), amount),
        Species("2-ethylhexanol", 1030.0, named("2-ethylhexanol"), 0.5 * amount),
        Species("phthalic anhydride", 1330.0, named("phthalic anhydride"), 0.3 * amount),
        Species("di(2-ethylhexyl) phthalate", 2550.0, named("di(2-ethylhexyl) phthalate"), 0.2 * amount),
    ]
    for place, index in enumerate((792.0, 797.0, 806.0), 1):
        found.append(Species(f"ethylhexene {place}", index, named("2-ethyl-1-hexene"), 0.2 * amount, MINOR_SCATTER))
    return found


def twins(rng: np.random.Generator) -> list[Species]:
    """Pairs two units apart that elute together where a chlorinated target does, near the ratio of chlorine.

    Some of them elute later than any real isomer (octanes at 846): they are put there to be taken for chlorine.
    """
    found = []
    for number, (lower, upper, index) in enumerate(TWINS):
        at = index + rng.normal(0, 2.5)
        first, second = lower(), upper()
        amount = 0.25 * np.exp(rng.normal(0, 0.8))
        # the molecular ions stand in the ratio of one chlorine, within a spread
        ratio = 0.32 * np.exp(rng.normal(0, 0.35)) * _molecular(first) / _molecular(second)
        found.append(Species(f"twin {number} lower", at, first, amount, MINOR_SCATTER))
        found.append(
            Species(f"twin {number} upper", at + rng.normal(0, 0.6), second, amount * min(ratio, 8.0), MINOR_SCATTER)
        )
    return found


def _molecular(spectrum: Spectrum) -> float:
    """Share of the heaviest ion."""
    return spectrum[max(spectrum, key=nominal_mass)] / sum(spectrum.values())


def _log_normal(rng: np.random.Generator, count: int, whole: float) -> np.ndarray:
    drawn = np.exp(rng.normal(0.0, 1.3, count))
    return whole * drawn / max(drawn.sum(), 1e-12)


MAKERS = {"PE": polyethylene, "PP": polypropylene, "PS": polystyrene, "PVC": polyvinylchloride}


def oil(
    rng: np.random.Generator, kind: str | dict[str, float], minor: int, with_twins: bool, with_plasticiser: bool
) -> list[Species]:
    """The compounds of an oil; `minor` of them small, shared among the polymers."""
    shares = KINDS[kind] if isinstance(kind, str) else kind
    found = []
    for polymer, share in shares.items():
        made = MAKERS[polymer](rng, round(minor * share))
        whole = sum(one.amount for one in made)
        found += [Species(one.name, one.index, one.spectrum, 100 * share * one.amount / whole, one.scatter)
                  for one in made]  # fmt: skip
    if rng.random() < 0.5:
        found.append(Species("4-vinylcyclohexene", 840.0, named("4-vinylcyclohexene"), rng.uniform(0.02, 0.6)))
    if with_plasticiser:
        found += plasticiser(rng)
    if with_twins:
        found += twins(rng)
    return found


def siloxanes(rng: np.random.Generator) -> list[Species]:
    """Rings that column and septum give off."""
    return [
        Species(name, index, named(name), amount * np.exp(rng.normal(0, 0.5)))
        for name, index, amount in (
            ("D3", 816.0, 0.06),
            ("D4", 998.0, 0.05),
            ("D5", 1155.0, 0.04),
            ("D6", 1340.0, 0.03),
        )
    ]
