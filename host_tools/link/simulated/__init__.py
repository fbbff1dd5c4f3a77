"""A board without a board: the same link, on a loopback TCP port."""
