"""A wheel on the stand, asked: predict, assess."""
