"""Results as JSON: one module for each package of `wheelsim` that has results."""
