"""Name the terms of an mzML file that are asked for, and hold what is read of a spectrum or chromatogram by them.

References
----------
HUPO Proteomics Standards Initiative, PSI-MS controlled vocabulary (Mayer et al., Database 2013, bat009).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, TypeAlias

import numpy as np

from cutbook.importers.mzml_packings import PACKINGS

LEVEL, CENTROID, PROFILE, TOTAL, TIME = "MS:1000511", "MS:1000127", "MS:1000128", "MS:1000285", "MS:1000016"
MZ, INTENSITY, TIMES = "MS:1000514", "MS:1000515", "MS:1000595"
TOTAL_TRACE = "MS:1000235"
ION_TRACES = frozenset({TOTAL_TRACE, "MS:1000628", "MS:1000627", "MS:1000810"})  # total, base peak, selected ion, any
VALUED = frozenset({LEVEL, TOTAL, TIME, TIMES})  # of the others it counts that they are there
_ZLIB, _PLAIN = "MS:1000574", "MS:1000576"
_TYPES = {
    term: np.dtype(kind)
    for term, kind in (("MS:1000521", "<f4"), ("MS:1000523", "<f8"), ("MS:1000519", "<i4"), ("MS:1000522", "<i8"))
}
ASKED = frozenset({*VALUED, *ION_TRACES, CENTROID, PROFILE, MZ, INTENSITY, _ZLIB, _PLAIN, *_TYPES, *PACKINGS})

Terms: TypeAlias = dict[str, tuple[str, str]]  # accession to value and unit


@dataclass(slots=True)
class Array:
    """One binary array: its terms, its declared length, its text in base64; see `packing` for the rest."""

    terms: Terms
    length: int
    text: str | bytes = ""
    dtype: np.dtype[Any] | None = None
    zipped: bool = False


@dataclass(slots=True)
class Element:
    """A spectrum or chromatogram: its own terms and its arrays; `number` counts those of its kind from 0."""

    tag: str
    name: str
    number: int
    length: int
    terms: Terms
    arrays: list[Array]


def packing(terms: Terms) -> tuple[np.dtype[Any] | None, bool]:
    """Type of the numbers of an array, None where it takes a library to unpack them, and whether zlib packs them.

    Parameters
    ----------
    terms : of the array.
    """
    types = [kind for term, kind in _TYPES.items() if term in terms]
    zipped = _ZLIB in terms
    ordinary = len(types) == 1 and zipped != (_PLAIN in terms) and PACKINGS.keys().isdisjoint(terms)
    return types[0] if ordinary else None, zipped
