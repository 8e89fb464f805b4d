"""Results as text and tables at a terminal: one module per command, imported by that command only."""
