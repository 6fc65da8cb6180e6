"""Still logs for tests, from text as a hand would write it to the curve."""

import tempfile
from pathlib import Path

from cutbook.fractions.cut_schemes import CutSettings, OwnCut, OwnScheme, chosen_schemes
from cutbook.fractions.still_curve import StillSettings, still_curve
from cutbook.importers.still_log import read_still_log
from cutbook.importers.trace_file import open_trace_file
from cutbook.model.lineage import Source
from cutbook.model.run import DistillationEntry, Product, Receiver
from cutbook.model.units import parse_quantity

DIMENSIONS = {
    "charge_mass": "mass", "residue_mass": "mass", "charge_volume": "volume", "residue_volume": "volume",
    "pressure": "pressure", "stem_temperature": "temperature", "thermometer_lag": "time",
}  # fmt: skip


def quantity(text, dimension):
    return parse_quantity(text, dimension, "run.toml", "")


def entry(**more):
    read = {key: quantity(value, DIMENSIONS[key]) if key in DIMENSIONS else value for key, value in more.items()}
    return DistillationEntry("still.csv", "[[distillation]] 1", "oil", **read)


def receiver(name, mass=None, volume=None, density=None):
    return Receiver(
        name,
        mass and quantity(mass, "mass"),
        volume and quantity(volume, "volume"),
        density and quantity(density, "density"),
    )


def curve_of(text, density="0.790 g/mL", schemes=(), settings=None, assumed=None, **more):
    """The curve of a log as text; own boiling-range schemes as (name, (limit, …))."""
    said = entry(**more)
    with tempfile.TemporaryDirectory() as folder:
        (Path(folder) / "still.csv").write_text(text, encoding="utf-8")
        log = read_still_log(open_trace_file(Path(folder), "still.csv"), said)
    product = Product(
        "oil", "[[product]] 1", quantity("400 g", "mass"), density=density and quantity(density, "density")
    )
    own = tuple(
        OwnScheme(name, "boiling range", tuple(
            OwnCut(f"cut {n}", low, high) for n, (low, high) in
            enumerate(zip((None, *limits), (*limits, None), strict=True), 1)
        )) for name, limits in schemes
    )  # fmt: skip
    chosen = chosen_schemes(CutSettings(own=own, further=tuple(name for name, _ in schemes)))
    shown = [(name, scheme) for name, scheme in chosen.shown if scheme.kind == "boiling range"]
    return still_curve(
        "oil", log, said, product, Source("run.toml", "0" * 64), shown, assumed, settings or StillSettings()
    )


def codes(curve):
    return {one.code for one in curve.step.cautions}


def facts(curve, code):
    return next(one.facts for one in curve.step.cautions if one.code == code)
