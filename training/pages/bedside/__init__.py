"""The bedside without a connection: its shell, what is taken along, what arrives."""
