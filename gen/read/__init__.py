"""Reading: nodes -> Ship, every value typed and with its place."""
