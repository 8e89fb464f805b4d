"""A job: the wheel, its readings, what may be turned, and the passes made."""
