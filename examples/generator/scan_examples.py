"""Two example runs with mass spectra: one with PVC in its feed, one clean but full of what imitates chlorine."""

from __future__ import annotations

import gzip

import numpy as np
from scan_writers import andi_ms, mzml
from simulated_compounds import Species
from simulated_named import named
from simulated_scans import GcMs, Spike, blank, ladder, simulate, standard

RUN = GcMs(
    minutes=25.0, start_min=1.5, scan_s=0.6, ramp_k_min=12.0, high=300, background=0.1, threshold=30.0, bleed=1500.0
)
LADDER = range(7, 21)
INTERNAL = Spike("chlorobenzene-d5", mg_kg=200.0)
FOUND = {  # mg/kg in the oil
    "chlorobenzene": 140.0, "2-chloro-2,4-dimethylheptane": 450.0, "1-chlorooctane": 300.0, "4-chlorostyrene": 60.0,
    "(2-chloroethyl)benzene": 220.0, "1-chloroindane": 250.0, "2-chloroethyl benzoate": 600.0,
}  # fmt: skip
CALIBRATED = ("chlorobenzene", "2-chlorotoluene", "benzyl chloride", "1,4-dichlorobenzene", "1-chlorooctane",
              "(2-chloroethyl)benzene", "2-chloroethyl benzoate")  # fmt: skip
LEVELS = (10.0, 30.0, 100.0, 300.0, 800.0)  # mg/kg
FROM_PET = (
    Species("benzoic acid", 1168.0, named("benzoic acid"), 0.8),
    Species("vinyl benzoate", 1141.0, named("vinyl benzoate"), 0.5),
    Species("acetophenone", 1068.0, named("acetophenone"), 0.2),
)
CHLORINE_G = {  # of the invented run: bottles by their titres, the rest by mass and share
    "fed": 25.53, "scrubber 1": 23.10, "scrubber 2": 0.38, "char": 0.968, "water": 0.118, "oil": 0.266, "wax": 0.0054,
}  # fmt: skip


def written(run, seed, offset):
    """The scans as an instrument writes them: m/z in steps of 0.1, a little off, whole counts."""
    rng = np.random.default_rng([seed, 9])
    return [(mz, np.round(counts)) for mz, counts in run.scans(rng, offset=offset, jitter=0.03, step=0.1)]


def packed_mzml(path, run, seed):
    """gzip over mzML with 32-bit m/z and whole-number intensities."""
    content = mzml(run.time_min, written(run, seed, 0.1), bits=32, intensity_bits="i32", group=True, zipped=True)
    path.write_bytes(gzip.compress(content, mtime=0))


def andi_scans(path, run, seed):
    """ANDI with m/z as twentieths in 16 bits."""
    path.write_bytes(andi_ms(run.time_min, written(run, seed, -0.1), mass="i2", intensity="i4", scale=(0.05, 1.0)))


def film_and_pvc(target):
    """An oil with seven chlorinated compounds (no table of targets has 1-chloroindane), ladder, blank, standards."""
    spikes = [INTERNAL, *(Spike(name, mg_kg) for name, mg_kg in FOUND.items())]
    oil = simulate(
        70,
        {"PE": 0.58, "PP": 0.28, "PVC": 0.14},
        RUN,
        spikes,
        plasticiser=True,
        masses=True,
        minor=250,
        extra=FROM_PET,
    )
    packed_mzml(target / "oil-ms.mzML.gz", oil, 70)
    packed_mzml(target / "ladder-ms.mzML.gz", ladder(71, LADDER, RUN, masses=True), 71)
    packed_mzml(target / "blank-ms.mzML.gz", blank(72, RUN, masses=True), 72)
    for number, level in enumerate(LEVELS, 1):
        made = standard(72 + number, dict.fromkeys(CALIBRATED, level), RUN, [INTERNAL], masses=True)
        packed_mzml(target / f"standard-{number}-ms.mzML.gz", made, 72 + number)
    return {
        "chlorinated_mg_kg": FOUND,
        "internal_standard_mg_kg": {INTERNAL.name: INTERNAL.mg_kg},
        "standards_mg_kg": {str(n): dict.fromkeys(CALIBRATED, level) for n, level in enumerate(LEVELS, 1)},
        "chlorine_g": CHLORINE_G,
        "ions_per_mg_kg": RUN.ions_per_mg_kg,
        "index": {one["name"]: round(one["index"], 1) for one in oil.truth if one["spike"]},
    }


def clean_crates(target):
    """An oil without chlorine, full of twins; its ladder; no blank, no standards."""
    oil = simulate(90, {"PE": 0.62, "PP": 0.38}, RUN, masses=True, minor=250, plasticiser=False,
                   extra=(Species("4-vinylcyclohexene", 841.0, named("4-vinylcyclohexene"), 0.3),))  # fmt: skip
    andi_scans(target / "oil-ms.cdf", oil, 90)
    andi_scans(target / "ladder-ms.cdf", ladder(91, LADDER, RUN, masses=True), 91)
    twins = [one for one in oil.truth if one["name"].startswith("twin")]
    return {
        "chlorinated_mg_kg": {},
        "twins": [
            {"name": one["name"], "index": round(one["index"], 1), "mg_kg": round(one["ions"] / RUN.ions_per_mg_kg)}
            for one in twins
        ],
    }
