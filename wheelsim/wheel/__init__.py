"""What the wheel is: its parts, lacing, geometry and generic rim kinds."""
