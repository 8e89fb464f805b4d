"""What is judged: dish, gap, true, round, tensions, their limits and aims, and what may happen on the way."""
