"""Programmes as files: reading one from a disk nobody vouches for, and writing one whole or not at all."""
