"""``python -m wheelsim``: the same as the command."""

from wheelsim.cli import main

main()
