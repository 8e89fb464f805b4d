"""Results as JSON, a module for each room they come from."""
