"""Signing in and out, and finding one's own place."""
