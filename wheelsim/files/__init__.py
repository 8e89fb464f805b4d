"""Wheel and job files; pydantic lives only here."""
