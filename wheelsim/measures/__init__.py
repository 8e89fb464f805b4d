"""The quantities that a wheel is judged by, their limits and aims, and tensions while nipples are turned."""
