"""The deeds: judge, append, refresh, in one transaction; and the questions pages ask."""
