"""One wheel on the stand: what it is, what was read of it, what may be done to it, what was done."""
