"""Results in words and tables, for people at a terminal; a module a verb, imported by that verb alone."""
