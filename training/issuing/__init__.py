"""Documents that were given out: their numbers, their bytes' digests, and whether they still hold."""
