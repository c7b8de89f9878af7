"""Handing a family over, taking it over, closing a file, and papers from outside."""
