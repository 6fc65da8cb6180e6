"""Chlorinated compounds that are looked for in mass spectra, and what was found of them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeAlias

from cutbook.model.lineage import Step
from cutbook.model.result import Result
from cutbook.model.trace import Floats, frozen_array

Verdict: TypeAlias = Literal["confirmed", "indicated", "not detected", "masked"]
IonRole: TypeAlias = Literal["quantifier", "isotope partner", "qualifier"]
TargetKind: TypeAlias = Literal["product", "solvent", "internal standard"]
IndexFrom: TypeAlias = Literal["table", "user table", "standard"]
Outcome: TypeAlias = Literal["for", "against", "open"]
Basis: TypeAlias = Literal["internal standard", "external standard", "surrogate", "none"]


@dataclass(frozen=True)
class TargetIon:
    """An ion of a compound.

    mz : nominal. share : its height as a fraction of the quantifier's, 1 for the quantifier itself.
    u_share : standard uncertainty of `share`, relative; small between isotope partners, large between fragments.
    """

    mz: int
    share: float
    role: IonRole
    u_share: float


@dataclass(frozen=True)
class Target:
    """A compound to look for.

    group : compounds that share it give the same spectrum (isomers) and are told apart by index alone.
    index, u_index : linear retention index on a 5 % phenyl phase and its standard uncertainty; the sources of both
        stand in `index_source`.
    ions : quantifier first. other_ions : nominal masses of further ions that the compound gives, of any height; an ion
        named in neither is taken as none of its own.
    current_share : of the quantifier in all the ions of the compound, 0–1.
    boiling_c : °C at 101.325 kPa, None when unknown. hazards : hazard classes in the words of the table.
    place : where the row stands, "chlorinated_targets" or the place in a file of the user's.
    """

    name: str
    formula: str
    cas: str
    smiles: str
    chlorine_atoms: int
    aromatic: bool
    kind: TargetKind
    group: str
    index: float
    u_index: float
    index_source: str
    ions: tuple[TargetIon, ...]
    other_ions: tuple[int, ...]
    current_share: float
    molar_mass: float
    boiling_c: float | None
    hazards: tuple[str, ...]
    place: str

    @property
    def quantifier(self) -> TargetIon:
        """The ion whose area is reported."""
        return self.ions[0]


@dataclass(frozen=True)
class Evidence:
    """One test of a verdict.

    test : its name in `reports/chlorine.toml`. found, expected, u : in `unit`, None where there is no such number.
    outcome : for the compound, against it, or open where the data cannot tell.
    """

    test: str
    outcome: Outcome
    found: float | None = None
    expected: float | None = None
    u: float | None = None
    unit: str = ""


@dataclass(frozen=True, eq=False)
class TargetSignal:
    """What the verdict was read from, scan by scan, for a figure.

    time_min : shape (n,). mz : of the ions, shape (k,). intensity : as recorded, shape (n, k).
    matrix : what neighbours and background give of each ion, fitted, shape (n, k).
    fitted : what the compound gives, fitted, shape (n, k). ratio, u_ratio : of the first isotope partner to the
        quantifier after the matrix was taken away, NaN where there is too little to tell, shape (n,).
    expected_ratio : by theory. limit : quantifier peak that the detection limit would have been, shape (n,).
    """

    time_min: Floats
    mz: tuple[int, ...]
    intensity: Floats
    matrix: Floats
    fitted: Floats
    ratio: Floats
    u_ratio: Floats
    expected_ratio: float
    limit: Floats

    def __post_init__(self) -> None:
        for name in ("time_min", "intensity", "matrix", "fitted", "ratio", "u_ratio", "limit"):
            object.__setattr__(self, name, frozen_array(getattr(self, name)))


@dataclass(frozen=True, eq=False)
class ScreenedTarget:
    """A target in one run, before any response turns areas into concentrations.

    verdict : see `chlorine/verdict.py`. time_min, retention_index : of the signal, None when none was found.
    index_from : what the window was laid by. window_min : where it was looked for.
    area, u_area : of the quantifier, in counts·min, the neighbours' part taken away; None when nothing was found.
    limit_area : of the quantifier at which the compound would have been found in 95 % of trials, with the trials made
        in this run at this place; None when no level up to the largest that was tried was found.
    quantitation_area : at which the relative standard uncertainty falls to 10 %.
    quiet_limit_area : what `limit_area` would be without neighbours.
    trials, found_in_trials : added peaks at `limit_area`, and how many of them were found at least.
    apart_from : names of isomers that the signal could as well be.
    """

    target: Target
    verdict: Verdict
    index_from: IndexFrom
    window_min: tuple[float, float]
    time_min: float | None
    retention_index: float | None
    area: float | None
    u_area: float | None
    limit_area: float | None
    quantitation_area: float | None
    quiet_limit_area: float | None
    trials: int
    found_in_trials: int
    evidence: tuple[Evidence, ...]
    apart_from: tuple[str, ...]
    signal: TargetSignal | None
    step: Step


@dataclass(frozen=True, eq=False)
class UnknownCluster:
    """Ions that rise and fall together in the pattern of chlorine or bromine, and are no target's.

    time_min, retention_index : of the apex, index None outside the ladder. chlorine_atoms, bromine_atoms : of the
        cluster that fits best. mz : of its ions, the lightest isotope first. losses : masses lost from it to other
        ions that rise and fall with it (35, 36 …). character : "aromatic", "aliphatic", "open".
    area, u_area : of its tallest ion, counts·min. current_area : of all ions that rise and fall with it.
    """

    time_min: float
    retention_index: float | None
    chlorine_atoms: int
    bromine_atoms: int
    mz: tuple[int, ...]
    losses: tuple[int, ...]
    character: Literal["aromatic", "aliphatic", "open"]
    area: float
    u_area: float
    current_area: float
    evidence: tuple[Evidence, ...]
    step: Step


@dataclass(frozen=True, eq=False)
class StandardLimits:
    """What the standards of a compound tell of limits, as mg/kg of a sample that is as clean as they are.

    by_line : detection limit by the prediction band of the calibration line. by_replicates, quantitation : of
    `replicates` injections of one amount, None with fewer than seven. interval : 95 % of the confidence of the former.
    """

    by_line: Result
    by_replicates: Result | None = None
    quantitation: Result | None = None
    replicates: int = 0
    interval: tuple[float, float] | None = None


@dataclass(frozen=True, eq=False)
class QuantifiedTarget:
    """A screened target with its concentration in the oil.

    concentration : mass fraction, missing when nothing was found or no response is known. detection_limit,
    quantitation_limit : mass fractions; missing with the area. basis : what turned area into mass. standards : limits
    that they tell by themselves, None without a line.
    """

    screened: ScreenedTarget
    concentration: Result
    detection_limit: Result
    quantitation_limit: Result
    basis: Basis
    standards: StandardLimits | None = None


@dataclass(frozen=True, eq=False)
class ScreenedOil:
    """Everything that the screen of one product tells.

    of, file : the product and its run. targets : one a compound looked for. unknown : clusters that are no target's.
    bromine : clusters with bromine.
    """

    of: str
    file: str
    targets: tuple[QuantifiedTarget, ...]
    unknown: tuple[UnknownCluster, ...]
    bromine: tuple[UnknownCluster, ...]
    step: Step
