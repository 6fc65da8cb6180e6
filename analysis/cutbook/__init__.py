"""Turn what a small-batch plastic pyrolysis run left behind into answers that can be checked."""

__version__ = "0.1.0"
