"""What the bench reads, and the state of the wheel that explains it."""
