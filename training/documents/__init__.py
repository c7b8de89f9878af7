"""PDFs and their verification."""
