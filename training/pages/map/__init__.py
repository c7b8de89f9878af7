"""The map: skills and their gates as a picture from left to right, and the same as a list."""
