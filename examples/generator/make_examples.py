"""Write the example runs anew: python examples/generator/make_examples.py. Same input, same bytes."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import numpy as np
from scan_examples import clean_crates, film_and_pvc
from scipy.io import netcdf_file
from simulated_gas import gas_trace, meter_log, molar_mass
from simulated_oil import Instrument, Oil, bell, ladder_signal
from simulated_still import kept_log

from cutbook.quantitation.response import alkane_response, relative_response

HERE = Path(__file__).resolve().parent
EXAMPLES = HERE.parent
STANDARD = ("methyl octanoate", 1126.0, "CCCCCCCC(=O)OC")
AROMATICS = {  # name: index, structure, g in 100 g of the foam oil
    "toluene": (765.3, "Cc1ccccc1", 3.1),
    "ethylbenzene": (861.0, "CCc1ccccc1", 2.2),
    "styrene": (894.2, "C=Cc1ccccc1", 51.0),
    "alpha-methylstyrene": (984.0, "C=C(C)c1ccccc1", 6.4),
    "1,3-diphenylpropane": (1655.0, "c1ccc(cc1)CCCc1ccccc1", 3.0),
    "2,4-diphenyl-1-butene": (1745.0, "C=C(CCc1ccccc1)c1ccccc1", 11.5),
    "2,4,6-triphenyl-1-hexene": (2480.0, "C=C(CC(CCc1ccccc1)c1ccccc1)c1ccccc1", 7.0),
}
EQUAL = alkane_response(12)


def andi(path, time, signal, title):
    """ANDI/netCDF-3 chromatography by the names of ASTM E1947; no time array, as the standard has it."""
    with netcdf_file(path, "w", version=1) as out:
        out.aia_template_revision = "1.0.1"
        out.dataset_completeness = "C1"
        out.sample_name = title
        out.detector_name = "FID"
        out.detector_unit = "pA"
        out.retention_unit = "seconds"
        out.createDimension("point_number", len(signal))
        values = out.createVariable("ordinate_values", "f4", ("point_number",))
        values[:] = signal.astype(">f4")
        for name, value in (
            ("actual_delay_time", 0.0),
            ("actual_sampling_interval", 60.0 * (time[1] - time[0])),
            ("actual_run_time_length", 60.0 * time[-1]),
            ("detector_maximum_value", float(signal.max())),
            ("detector_minimum_value", float(signal.min())),
        ):
            one = out.createVariable(name, "f4", ())
            one.data = np.array(value, dtype=">f4")


def tabbed(path, time, signal, head="FID (pA)"):
    """Tab-separated columns with units in the head."""
    rows = [f"{t:.5f}\t{y:.3f}" for t, y in zip(time, signal, strict=True)]
    path.write_text("\n".join([f"time (min)\t{head}", *rows, ""]), encoding="utf-8")


def german(path, time, signal, title):
    """Semicolons, decimal commas, German heads, lines of remarks above the table, Windows line ends, Latin-1."""
    rows = [f"{t:.5f};{y:.3f}".replace(".", ",") for t, y in zip(time, signal, strict=True)]
    head = [f"Probe: {title}", "Säule: 5 % Phenyl, 30 m", "Messwerte:", "Zeit [min];FID [pA]"]
    path.write_bytes("\r\n".join([*head, *rows, ""]).encode("latin-1"))


def still_log(path, grams, seed, stages):
    """A log kept by hand: clock times, ditto marks, volumes from zero in each receiver, one of them misread."""
    rows, weights, left = kept_log(grams, seed, stages)
    lines = ["time,pot (°C),head (°C),receiver (mL),pressure (mbar),receiver no.,note"]
    pressure_above = number_above = None
    for place, (minutes, pot, head, ml, mbar, number) in enumerate(rows):
        clock = f"{(13 * 60 + 5 + int(minutes)) // 60:02d}:{(13 * 60 + 5 + int(minutes)) % 60:02d}"
        note = "first drop" if place == 0 else "changed receiver, pump on" if number != number_above else ""
        volume = round(ml) - 30 if place == 9 else round(ml)
        pressure = '"' if mbar == pressure_above else f"{mbar:g}"
        receiver = '"' if number == number_above else str(number)
        lines.append(f"{clock},{pot:.0f},{head:.1f},{volume},{pressure},{receiver},{note}")
        pressure_above, number_above = mbar, number
    path.write_text("\n".join([*lines, ""]), encoding="utf-8")
    return {"receivers_g": [round(one, 2) for one in weights], "pot_g": round(left, 2)}


GAS = {  # mol % of the product gas, without the nitrogen of the purge
    "hydrogen": 1.0, "methane": 7.2, "ethene": 6.7, "ethane": 8.7, "propene": 27.7, "propane": 12.3, "isobutene": 10.8,
    "1-butene": 8.2, "n-butane": 7.2, "C5+": 10.0, "carbon monoxide": 0.2,
}  # fmt: skip


def gas_table(path):
    """A laboratory's table of the crate gas: 2.4 % of purge nitrogen, a raw sum of 99.6 %, limits, a total."""
    raw = 0.996
    lines = ["component,mol %,u"]
    shown = {name: round(raw * (100 - 2.4) / 100 * share, 1) for name, share in GAS.items()}
    shown["nitrogen"] = round(raw * 2.4, 1)
    lines += [f"{name},{share:.1f},{max(0.1, round(0.01 * share, 1)):.1f}" for name, share in shown.items()]
    lines += ["oxygen,< 0.1,", "hydrogen sulfide,< 0.05,", f"total,{sum(shown.values()):.1f},"]
    path.write_text("\n".join([*lines, ""]), encoding="utf-8")
    return GAS


class Bench:
    """One instrument with its noise, drawn from a seed of its own."""

    def __init__(self, seed, **instrument):
        self.rng = np.random.default_rng(seed)
        self.instrument = Instrument(rate=5.0, **instrument)
        self.time = self.instrument.times()

    def record(self, signal, scale=1.0, offset=0.0, drift=0.0, clip=None):
        base = self.instrument.baseline(self.time, scale, offset, drift)
        noisy = signal + base + self.rng.normal(0, self.instrument.noise, len(self.time))
        return noisy if clip is None else np.minimum(noisy, clip)

    def solvent(self, index, height, clip):
        """A solvent front with a tail, cut off where the amplifier ends."""
        peak = self.instrument.compounds([index], [1.0])
        at = float(peak.time[0])
        front = height * np.exp(-0.5 * ((self.time - at) / 0.025) ** 2)
        tail = 0.3 * height * np.exp(-np.clip(self.time - at, 0, None) / 0.03) * (self.time >= at)
        return np.minimum(front + tail, clip)


def folder(name):
    """An empty run folder, its run sheet and settings kept in the generator."""
    target = EXAMPLES / name
    shutil.rmtree(target, ignore_errors=True)
    (target / "traces").mkdir(parents=True)
    for file in sorted((HERE / "sheets" / name).iterdir()):
        shutil.copyfile(file, target / file.name)
    return target


def shares(truth):
    whole = sum(truth.values())
    return {("beyond" if n < 0 else str(n)): round(100 * area / whole, 4) for n, area in truth.items()}


def crate_oil():
    """Polyolefin crates: oil neat; wax in carbon disulfide with an internal standard, 15 % of it does not elute."""
    bench = Bench(11, noise=0.08)
    carbons = list(range(5, 45))
    target = folder("crate-oil") / "traces"
    oil = Oil(bell(range(5, 41), 12.5, 6.5, 620.0), hump=(230.0, 19.0, 6.0))
    weight = relative_response(STANDARD[2]).value / EQUAL
    # 100 g of wax hold 15 g that stay in the inlet; 1 % of the mixture of wax and standard is standard
    wax_eluted = 850.0
    standard_area = wax_eluted / 0.85 * (0.01 / 0.99) * weight
    wax = Oil(bell(range(8, 45), 25.0, 6.0, wax_eluted - 140.0), hump=(140.0, 28.0, 5.0),
              named=((STANDARD[0], STANDARD[1], standard_area),))  # fmt: skip
    front = bench.solvent(530.0, 260.0, 1e9)
    andi(target / "ladder-fid.cdf", bench.time, bench.record(ladder_signal(bench.time, bench.instrument, carbons, 9.0)),
         "n-alkanes C5 to C44")  # fmt: skip
    andi(target / "blank-fid.cdf", bench.time, bench.record(front, 1.02, 0.3, -0.1), "carbon disulfide")
    andi(target / "oil-fid.cdf", bench.time, bench.record(oil.signal(bench.time, bench.instrument)), "crate oil")
    andi(
        target / "wax-fid.cdf", bench.time, bench.record(wax.signal(bench.time, bench.instrument) + front), "crate wax"
    )
    truth = shares(oil.truth(bench.instrument, carbons))
    charged = {int(n): 2.5 * share for n, share in truth.items() if n != "beyond" and share > 0}
    return {
        "gas": gas_table(target.parent / "gas.csv"),
        "distillation": still_log(target.parent / "still.csv", charged, 12, ((100.2, 335.0), (10.0, 322.0))),
        "oil": truth,
        "wax": {**shares(wax.truth(bench.instrument, carbons, (STANDARD[0],))), "did_not_elute": 15.0},
    }


def foam_oil():
    """Polystyrene packaging: styrene-rich oil in dichloromethane, own responses of the known aromatics."""
    bench = Bench(22, noise=0.06, bleed_height=9.0)
    carbons = list(range(6, 41))
    target = folder("foam-oil") / "traces"
    grams = {name: mass for name, (_, _, mass) in AROMATICS.items()}
    rest = 100.0 - sum(grams.values())
    scale = 9.0
    named = [
        (name, index, scale * mass * relative_response(smiles).value)
        for name, (index, smiles, mass) in AROMATICS.items()
    ]
    standard = scale * 100.0 * 0.0250 / (1 - 0.0250) * relative_response(STANDARD[2]).value
    alkanes = {n: scale * share * alkane_response(n) for n, share in bell(range(9, 33), 17, 6, rest * 0.6).items()}
    hump = scale * rest * 0.4 * alkane_response(18)
    oil = Oil(alkanes, hump=(hump, 18.0, 4.0), named=(*named, (STANDARD[0], STANDARD[1], standard)))
    front = bench.solvent(520.0, 4200.0, 3000.0)
    tabbed(
        target / "ladder.txt",
        bench.time,
        bench.record(ladder_signal(bench.time, bench.instrument, carbons, 8.0) + front),
    )
    tabbed(target / "blank.txt", bench.time, bench.record(front, 0.99, -0.2, 0.05))
    tabbed(target / "oil.txt", bench.time, bench.record(oil.signal(bench.time, bench.instrument) + front))
    by_mass = Oil(bell(range(9, 33), 17, 6, rest * 0.6), hump=(rest * 0.4, 18.0, 4.0),
                  named=tuple((name, AROMATICS[name][0], mass) for name, mass in grams.items()))  # fmt: skip
    return {"oil": shares(by_mass.truth(bench.instrument, carbons))}


def mixed_film():
    """Household film with a little PVC: no blank, light ends lost, decimal commas, a ladder without n-C13."""
    bench = Bench(33, noise=0.1, bleed_height=11.0, minutes=44.0)
    carbons = [n for n in range(7, 37) if n != 13]
    target = folder("mixed-film") / "traces"
    spread = bell(range(5, 41), 12, 7, 700.0)
    spread[5] *= 0.25
    spread[6] *= 0.35
    oil = Oil(spread, hump=(120.0, 17.0, 5.0))
    german(target / "Leiter.csv", bench.time, bench.record(ladder_signal(bench.time, bench.instrument, carbons, 7.0)),
           "n-Alkane C7 bis C36 ohne C13")  # fmt: skip
    german(target / "Öl.csv", bench.time, bench.record(oil.signal(bench.time, bench.instrument)), "Öl aus Folie")
    return {"oil": shares(oil.truth(bench.instrument, list(range(7, 37))))}


CAPS_GAS = {  # mol % of the product gas
    "hydrogen": 2.0, "methane": 14.0, "carbon monoxide": 0.5, "carbon dioxide": 0.5, "ethene": 14.0, "ethane": 16.0,
    "propene": 22.0, "propane": 13.0, "isobutene": 2.0, "1-butene": 8.0, "n-butane": 6.0, "n-pentane": 2.0,
}  # fmt: skip
CERTIFIED = {  # mole fraction; helium makes up the rest
    "hydrogen": 0.05, "nitrogen": 0.35, "methane": 0.20, "carbon monoxide": 0.05, "carbon dioxide": 0.05,
    "ethene": 0.10, "ethane": 0.10, "propane": 0.04, "propene": 0.04, "n-butane": 0.01, "1-butene": 0.01,
}  # fmt: skip
CAPS_GRAMS, CAPS_FACTOR = 90.0, 0.992


def bottle_caps():
    """Bottle caps: the gas by a conductivity and a flame trace with a certified gas, its amount by a wet meter."""
    rng = np.random.default_rng(44)
    target = folder("bottle-caps")
    product = {name: share / 100 for name, share in CAPS_GAS.items()}
    product_mol = CAPS_GRAMS / molar_mass(product)
    # 0.400 L/min at 0 °C and 101.325 kPa for 120 min; a compression factor of 0.995 for such a gas
    purge_mol = 0.400 * 120 * 101.325 / (8.314462618 * 273.15)
    whole = product_mol + purge_mol
    bag = {name: share * product_mol / whole for name, share in product.items()} | {"nitrogen": purge_mol / whole}
    for name, shares, injected, stretch in (("gas", bag, 0.96, 1.012), ("standard", CERTIFIED, 1.0, 1.0)):
        for detector, again in (("TCD", 1.0), ("FID", 0.985 if name == "gas" else 1.0)):
            time, signal = gas_trace(detector, shares, rng, injected * again, stretch)
            unit = "mV" if detector == "TCD" else "pA"
            tabbed(target / "traces" / f"{name}-{detector.lower()}.txt", time, signal, f"{detector} ({unit})")
    rows = meter_log(product_mol / CAPS_FACTOR, purge_mol / CAPS_FACTOR, 120, 1000.0, 968.4, 0.995)
    lines = ["time,meter reading (L),T (°C),p (mbar),note", *(",".join(row) for row in rows), ""]
    (target / "meter.csv").write_text("\n".join(lines), encoding="utf-8")
    return {"gas": CAPS_GAS, "gas_g": CAPS_GRAMS, "purge_mol": round(purge_mol, 4), "bag": {
        name: round(100 * share, 4) for name, share in bag.items()}}  # fmt: skip


if __name__ == "__main__":
    for make in (crate_oil, foam_oil, mixed_film, bottle_caps, film_and_pvc, clean_crates):
        name = make.__name__.replace("_", "-")
        truth = make(folder(name) / "traces") if make in (film_and_pvc, clean_crates) else make()
        (HERE / "truth").mkdir(exist_ok=True)
        (HERE / "truth" / f"{name}.json").write_text(json.dumps(truth, indent=1) + "\n", encoding="utf-8")
        print("wrote", EXAMPLES / name)
