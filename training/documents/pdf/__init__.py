"""Tagged, repeatable PDF (PDF/UA-1) on reportlab: faces, text, marks, tables, sheets.

Text is never parsed: there is no markup anywhere in this package, so nothing a person typed can be taken for it.
"""
