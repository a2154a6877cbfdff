"""Run the command line as ``python -m quickcheck``."""

from quickcheck.cli import main

main()
