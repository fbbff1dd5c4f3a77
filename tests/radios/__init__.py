"""Radios to learn from, drawn from a seed. Nothing here is shared with what learns them."""
