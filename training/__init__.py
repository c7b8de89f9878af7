"""The site: people, curriculum, records, standing, documents, exchange, pages."""
