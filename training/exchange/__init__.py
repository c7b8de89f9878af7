"""Import and export."""
