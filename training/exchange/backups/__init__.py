"""Backups: one file with a manifest and the whole database, and the way back."""
