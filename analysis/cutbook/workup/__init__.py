"""The order of operations, and everything that it finds."""
