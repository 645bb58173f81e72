"""Streets from an OpenStreetMap extract, and shortest ways along them.

`read_extract` makes a `Network` of an extract's bytes, `Streets` snaps points to it and measures
ways on foot, by bicycle or with a cart.
"""
