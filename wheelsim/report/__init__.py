"""Results for people and programs: words, tables, pictures."""
