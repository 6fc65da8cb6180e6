"""What is known: tables of facts, each with a twin that tells its source (data only)."""
