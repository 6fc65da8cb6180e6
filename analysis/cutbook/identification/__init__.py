"""Which peak is which: the ladder, retention indices."""
