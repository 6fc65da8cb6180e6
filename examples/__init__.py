"""Example runs of an invented workshop; data only."""
