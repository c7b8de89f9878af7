"""The append-only record of everything dated and signed about a family, and its chain."""
