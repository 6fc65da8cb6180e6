"""What is printed: sheet definitions, page templates, wording, figure style (data only)."""
