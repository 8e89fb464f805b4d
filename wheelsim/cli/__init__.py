"""The doors: the ``wheelsim`` command."""

from wheelsim.cli.app import main, run

__all__ = ["main", "run"]
