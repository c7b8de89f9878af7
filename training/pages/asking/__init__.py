"""The supervisor’s questions over all families, each with where it is answered."""
