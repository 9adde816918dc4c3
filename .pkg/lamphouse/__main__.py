"""`python -m lamphouse` is the command `lamphouse`."""

from lamphouse.viewer.main import main

main()
