"""Results in sentences, for every screen and paper."""
