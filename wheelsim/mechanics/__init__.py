"""How the wheel answers: ring, spokes, structure, large turns."""
