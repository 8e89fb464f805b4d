"""Wheel and job files that come with the program; all numbers in them are invented."""
