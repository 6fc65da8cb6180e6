"""Build screened targets and runs by hand, so that a test holds the lines that matter."""

import numpy as np

from cutbook.chlorine.injected import MeasuredRun
from cutbook.model.chlorine import Evidence, ScreenedTarget, Target, TargetIon, TargetSignal, UnknownCluster
from cutbook.model.lineage import Source, Step
from cutbook.model.run import InternalStandard, TraceEntry
from cutbook.model.units import parse_quantity

COMPOUNDS = {  # name: formula, chlorine atoms, molar mass (IUPAC conventional masses), group, boiling point
    "chlorobenzene": ("C6H5Cl", 1, 112.557, "", 131.7),
    "2-chlorotoluene": ("C7H7Cl", 1, 126.583, "chlorotoluene", 159.0),
    "4-chlorotoluene": ("C7H7Cl", 1, 126.583, "chlorotoluene", 162.0),
    "1,4-dichlorobenzene": ("C6H4Cl2", 2, 147.002, "dichlorobenzene", 174.0),
    "1,2,4-trichlorobenzene": ("C6H3Cl3", 3, 181.447, "trichlorobenzene", 213.5),
    "dichloromethane": ("CH2Cl2", 2, 84.932, "", 39.6),
    "chlorobenzene-d5": ("C6D5Cl", 1, 117.588, "", 131.0),
}
KINDS = {"dichloromethane": "solvent", "chlorobenzene-d5": "internal standard"}


def a_quantity(text, dimension):
    return parse_quantity(text, dimension, "run.toml", "")


def a_target(name, **more):
    formula, atoms, mass, group, boiling = COMPOUNDS[name]
    told = {
        "kind": KINDS.get(name, "product"), "group": group, "index": 850.0, "u_index": 5.0, "index_source": "a test",
        "ions": (TargetIon(112, 1.0, "quantifier", 0.0), TargetIon(114, 0.32, "isotope partner", 0.01)),
        "other_ions": (), "current_share": 0.4, "boiling_c": boiling, "hazards": ("flammable",), "place": "a test",
    }  # fmt: skip
    return Target(name, formula, "", "", atoms, aromatic=True, molar_mass=mass, **(told | more))


def a_screened(
    name, verdict="not detected", area=None, u_area=None, limit_area=50.0, time=8.5, file="oil.mzML", **more
):
    found = verdict in ("confirmed", "indicated")
    told = {
        "index_from": "table", "window_min": (8.3, 8.7), "time_min": time if found else None,
        "retention_index": 851.2 if found else None, "limit_area": limit_area,
        "quantitation_area": None if limit_area is None else 3 * limit_area, "quiet_limit_area": 20.0, "trials": 100,
        "found_in_trials": 95, "evidence": (Evidence("isotope ratio", "for", 0.318, 0.32, 0.004, "1"),),
        "apart_from": (), "signal": None, "step": Step("screen target/1", settings={"name": name, "file": file}),
    }  # fmt: skip
    target = more.pop("target", None) or a_target(name)
    return ScreenedTarget(target, verdict, area=area, u_area=u_area, **(told | more))


def a_signal(scans=21, ions=(112, 114, 77), height=1000.0):
    time = 8.5 + 0.01 * (np.arange(scans) - scans // 2)
    peak = np.exp(-0.5 * ((time - 8.5) / 0.025) ** 2)[:, None] * np.array([1.0, 0.32, 0.6][: len(ions)])[None, :]
    matrix = 0.1 * height * np.ones((scans, len(ions)))
    fitted = height * peak
    ratio = np.where(peak[:, 0] > 0.05, 0.32, np.nan)
    return TargetSignal(time, ions, matrix + fitted, matrix, fitted, ratio, 0.02 + 0 * ratio, 0.32, 0.05 * fitted[:, 0])


def an_entry(file="oil.mzML", role="sample", of="oil", amounts=(), standard=None, solvent="", sample="", added=""):
    declared = None
    if standard is not None:
        name, text = standard
        key, dimension = ("mass", "mass") if text.endswith("g") and "/" not in text else ("concentration", "fraction")
        declared = InternalStandard(name, **{key: a_quantity(text, dimension)})
    told = [
        {"name": name, "concentration": a_quantity(text, "mass concentration" if text.endswith("/L") else "fraction"),
         "retention_time": None}
        for name, text in amounts
    ]  # fmt: skip
    return TraceEntry(
        file, "[[trace]] 1", role, "MS", of, solvent=solvent, internal_standard=declared, amounts=tuple(told),
        sample_mass=a_quantity(sample, "mass") if sample else None,
        solvent_mass=a_quantity(added, "mass") if added else None,
    )  # fmt: skip


def a_run(screened, current=None, signal=None, **entry):
    return MeasuredRun(an_entry(**entry), tuple(screened), current, signal)


def a_cluster(chlorine=2, mz=(190, 192, 194), current=400.0, bromine=0, **more):
    told = {
        "time_min": 12.0, "retention_index": 1250.0, "losses": (35,), "character": "aromatic", "area": 100.0,
        "u_area": 5.0, "evidence": (), "step": Step("search clusters/1"),
    }  # fmt: skip
    return UnknownCluster(
        chlorine_atoms=chlorine, bromine_atoms=bromine, mz=mz, current_area=current, **(told | more)
    )  # fmt: skip


SHEET = Source("run.toml", "0" * 64)
