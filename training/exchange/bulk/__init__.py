"""Organisations of many invented families, written straight into the tables, to measure with."""
