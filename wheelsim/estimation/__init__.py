"""Estimation of the wheel's state from its readings, with uncertainties, outlier tests and predictions."""
