"""Tell a note in a still log that speaks of cracking, in English or German."""

from __future__ import annotations

import re

# whole words, so that "gasoline" and "Gasbrenner" are none
_WORDS = re.compile(
    r"\b(fog\w*|smok\w*|fum(e|es|ing)|mist|haze|gas|gases|gassing|(vapou?r|white) cloud|crack\w*|decompos\w*|smell\w*"
    r"|bump\w*|nebel\w*|rauch\w*|qualm\w*|schwaden|zersetz\w*|krack\w*|geruch|stinkt|gasentwicklung)\b",
    re.IGNORECASE,
)


def speaks_of_cracking(note: str) -> bool:
    """Whether a note names fog, gas, smell or decomposition.

    Examples
    --------
    >>> speaks_of_cracking("leichter Nebel"), speaks_of_cracking("gasoline receiver on")
    (True, False)
    """
    return bool(_WORDS.search(note))
