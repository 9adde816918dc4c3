"""`python -m lamphouse` is the command `lamphouse`."""

from lamphouse.graph.cli import main

main()
