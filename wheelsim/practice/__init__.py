"""Learning by doing: hidden wheels with faults, tools with their errors, the rule-of-thumb mechanic."""
