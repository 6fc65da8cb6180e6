"""Streams of runs that are built to close."""

from cutbook.model.amount import measured
from cutbook.model.elements import ELEMENTS, ElementShare, Stream
from cutbook.model.lineage import Step
from cutbook.model.result import Result

STEP = Step("made for a test/1")


def a_stream(name, mass, shares, feed=False, u_mass=0.0, u_share=0.0, by_difference=False):
    """A stream: a number is a known share, a pair the bounds of an unknown one, what is not named is none."""
    held = {}
    for element in ELEMENTS:
        share = shares.get(element, 0.0)
        if isinstance(share, tuple):
            held[element] = ElementShare(None, *share, "not known")
        elif share == 0.0:
            held[element] = ElementShare(0.0, 0.0, 0.0)
        else:
            held[element] = ElementShare(measured(share, u_share, f"{element} in {name}"))
    grams = None if mass is None else measured(mass, u_mass, f"weighing of {name}")
    found = (
        Result.missing(f"mass of {name}", "g", "", STEP, "balance.not_measured")
        if grams is None
        else Result(f"mass of {name}", grams, "g", "", STEP)
    )
    return Stream(name, feed, found, by_difference, held, STEP)
