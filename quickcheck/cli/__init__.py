"""The command line: the same use cases as the web, in a terminal."""

from quickcheck.cli.main import main

__all__ = ["main"]
