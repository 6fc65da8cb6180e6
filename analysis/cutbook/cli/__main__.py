"""Lets `python -m cutbook.cli` stand for the command where it is not on the path."""

from cutbook.cli.main import main

main(prog_name="cutbook")
