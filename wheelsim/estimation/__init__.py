"""The state of the wheel behind its readings, and how well it is known."""
