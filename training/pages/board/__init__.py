"""All families at a glance."""
