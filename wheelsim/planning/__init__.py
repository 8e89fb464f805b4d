"""What to do about it: which side, which nipples, how much, in which order, or what stands in the way."""
