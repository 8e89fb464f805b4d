"""Pictures: matplotlib Figure objects, never pyplot."""
