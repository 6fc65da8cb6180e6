"""From area to mass."""
