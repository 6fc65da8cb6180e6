"""Open mzML by way of pyteomics without its look-up on the network, element by element."""

from __future__ import annotations

import base64
import gzip
import zlib
from collections.abc import Iterator
from importlib import resources
from typing import IO, Any

import numpy as np
from lxml import etree
from numpy.typing import NDArray
from pyteomics import mzml
from pyteomics.auxiliary import BinaryArrayConversionMixin

from cutbook.importers.mzml_packings import PACKINGS
from cutbook.importers.xml_prolog import PARSED_SAFELY


class Vocabulary(dict[str, Any]):
    """The PSI-MS vocabulary as it came with psims, loaded when a term is first asked for; never over the network."""

    def __missing__(self, accession: str) -> Any:
        from psims.controlled_vocabulary.controlled_vocabulary import ControlledVocabulary

        bundled = resources.files("psims.controlled_vocabulary") / "vendor" / "psi-ms.obo.gz"
        with bundled.open("rb") as packed, gzip.open(packed) as text:
            loaded = ControlledVocabulary.from_obo(text)
        self.update(loaded.terms)
        return self[accession] if accession in self else loaded[accession]


class Reader(mzml.MzML):  # type: ignore[misc]
    """pyteomics' reader, which hands out spectra and chromatograms as elements instead of dictionaries.

    Building a dictionary of every term in a file is what takes pyteomics its time; what is asked of a spectrum here
    are a dozen terms and two arrays.
    """

    def elements(self, kinds: tuple[str, ...]) -> Iterator[etree._Element]:
        """Every element of some kinds, in the order in which they end; the caller clears them."""
        self.reset()
        for _, node in etree.iterparse(self._source, events=("end",), tag=kinds, **PARSED_SAFELY):
            yield node


def open_reader(source: IO[bytes]) -> Reader:
    """A reader on an open file; the index of the file is not used, since all of it is read in order."""
    return Reader(source, use_index=False, cv=Vocabulary(), read_schema=False)


def decode(text: str | bytes, accessions: list[str], length: int) -> NDArray[np.float64]:
    """An array in one of the numeric packings that pyteomics knows; they need the library pynumpress.

    Raises
    ------
    ValueError
        When no such packing is declared, or several.
    """
    packings = [PACKINGS[one] for one in accessions if one in PACKINGS]
    if len(packings) != 1:
        raise ValueError("no packing declared" if not packings else "several packings declared")
    name, zipped = packings[0]
    raw = base64.b64decode(text)
    if zipped:  # a packed number takes at most ten bytes; held to that, so that no bomb goes off
        raw = zlib.decompressobj().decompress(raw, 10 * length + 100)
    values = BinaryArrayConversionMixin().decode_data_array(base64.b64encode(raw).decode("ascii"), name)
    return np.asarray(values, dtype=np.float64)
