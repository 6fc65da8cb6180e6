"""A diesel-like liquid for tests: its curve, its density, its properties."""

from cutbook.fractions.fuel_properties import PropertySettings, fuel_properties
from cutbook.model.amount import measured
from cutbook.model.boiling import BoilingCurve, CurvePoint
from cutbook.model.entered import Entered
from cutbook.model.lineage import Source, Step
from cutbook.model.properties import WatsonFactor
from cutbook.model.result import Result
from cutbook.model.run import Product

SHEET = Source("run.toml", "ab" * 32)
PRODUCT = Product("oil", "[[product]] 1", density=Entered(0.85, 0.001, "g/mL", "0.850 ± 0.001 g/mL", True))
DIESEL = {10.0: 215.0, 30.0: 245.0, 50.0: 265.0, 70.0: 285.0, 90.0: 315.0}


def curve(points, u=0.5):
    step = Step("read boiling curve/1")
    found = []
    for at, value in points.items():
        amount = measured(value, u, f"curve at {at:g}")
        found.append(CurvePoint(at, Result("t", amount, "°C", "oil", step)))
    return BoilingCurve("oil", tuple(found), "n_alkanes, handbook values", True, step)


def watson(value=12.0, u=0.2):
    return WatsonFactor(measured(value, u, "assumed Watson factor"), "assumed for oil of PE", Step("assume/1"))


def properties(points=DIESEL, product=PRODUCT, factor=None, **settings):
    found, step = fuel_properties("oil", curve(points), product, SHEET, factor, PropertySettings(**settings))
    return {one.name: one for one in found}, {one.code for one in step.cautions}
