"""What was observed, how it was read, what is claimed; units, errors, cautions, lineage."""
