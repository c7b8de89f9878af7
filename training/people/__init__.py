"""Organisations, members, families, caregivers; who may see whom."""
