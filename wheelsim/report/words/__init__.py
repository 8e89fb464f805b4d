"""Results as sentences; the only place where they are written, for terminal, page, paper and JSON."""
