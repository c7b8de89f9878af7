"""Handing a family over: the offer, its answer, the file that starts from it, and the other organisation's record."""
