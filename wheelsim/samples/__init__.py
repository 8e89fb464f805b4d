"""Shipped wheel and job files; all invented."""
