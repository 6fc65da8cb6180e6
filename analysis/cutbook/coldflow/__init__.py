"""Whether an oil sets in the cold: wax formers, solid-liquid equilibrium, answers for storage."""
