"""Programmes and editions: drafting and publishing."""
