"""What went in against what came out."""
