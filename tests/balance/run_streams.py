"""Streams of runs whose masses and composition are known."""

from cutbook.model.amount import measured
from cutbook.model.elements import ELEMENTS, ElementShare, Stream
from cutbook.model.lineage import Step
from cutbook.model.result import Result

STEP = Step("made for a test/1")

FILLED_PVC = {
    # a made-up blend of polyethylene, poly(vinyl chloride) and chalk: shares by mass
    "oil": (400.0, {"C": 0.865, "H": 0.125, "Cl": 0.001}),
    "gas": (200.0, {"C": 0.80, "H": 0.20}),
    "char": (100.0, {"C": 0.55, "H": 0.02, "Cl": 0.02}),
    "hydrogen chloride": (60.0, {"H": 0.0276, "Cl": 0.9724}),
}
FEED = sum(mass for mass, _ in FILLED_PVC.values())
FEED_SHARES = {
    element: sum(mass * shares.get(element, 0.0) for mass, shares in FILLED_PVC.values()) / FEED for element in ELEMENTS
}


def stream(name, mass, u, shares, feed=False, u_share=0.0, by_difference=False, unknown=()):
    """A stream of a mass in g (None for none), with mass fractions by element; those not named are 0."""
    elements = {}
    for element in ELEMENTS:
        share = shares.get(element, 0.0)
        u_own = u_share if isinstance(u_share, float) else u_share.get(element, 0.0)
        if element in unknown:
            elements[element] = ElementShare(None)
        else:
            elements[element] = ElementShare(measured(share, u_own, f"{element} of {name}") if u_own else share)
    if mass is None:
        weighed = Result.missing(f"mass of {name}", "g", "", STEP, "balance.not_measured")
    else:
        weighed = Result(f"mass of {name}", measured(mass, u, f"weighing of {name}"), "g", "", STEP)
    return Stream(name, feed, weighed, by_difference, elements, STEP)


def filled_pvc_run(rng, relative_u, wrong="", factor=1.0, u_share=0.0):
    """The blend cracked and measured: every mass with a relative error, one of them wrong by a factor."""
    made = []
    for name, (true, shares) in {"feed": (FEED, FEED_SHARES), **FILLED_PVC}.items():
        read = true * (1 + relative_u * rng.standard_normal()) * (factor if name == wrong else 1.0)
        found = {e: share * (1 + u_share * rng.standard_normal()) for e, share in shares.items()}
        own = {e: u_share * share for e, share in shares.items()}
        made.append(stream(name, read, relative_u * true, found, name == "feed", own))
    return made
