"""The numeric packings of the PSI-MS vocabulary: term to pyteomics' name, and whether zlib comes on top."""

_LINEAR = "MS-Numpress linear prediction compression"
_POSITIVE = "MS-Numpress positive integer compression"
_LOGGED = "MS-Numpress short logged float compression"
PACKINGS = {
    "MS:1002312": (_LINEAR, False),
    "MS:1002313": (_POSITIVE, False),
    "MS:1002314": (_LOGGED, False),
    "MS:1002746": (_LINEAR, True),
    "MS:1002747": (_POSITIVE, True),
    "MS:1002748": (_LOGGED, True),
}
