"""Carbon numbers, cuts and what hangs on where they are drawn."""
