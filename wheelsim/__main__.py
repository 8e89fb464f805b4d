"""``python -m wheelsim``: the same as the command."""

from wheelsim.cli.app import main

main()
