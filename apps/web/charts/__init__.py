"""Charts: pure functions from figures to SVG. Each page puts the same figures in a table."""
