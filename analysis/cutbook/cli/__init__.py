"""The command line: read what was typed, call one function, print, leave with a status."""
