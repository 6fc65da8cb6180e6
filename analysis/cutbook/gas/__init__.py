"""Gas: composition without air and purge, amount, heating value."""
