"""``python -m wheelsim``: the same as the command."""

from wheelsim.cli.app import main

if __name__ == "__main__":  # a process that plans for the page imports this, and is no command
    main()
