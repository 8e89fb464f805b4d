"""``python -m wheelsim``: the same as the command ``wheelsim``."""

from wheelsim.cli.app import main

if __name__ == "__main__":  # the page's planning process imports this module too and must not start the command
    main()
