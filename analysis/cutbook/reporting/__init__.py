"""Findings as files that people read."""
