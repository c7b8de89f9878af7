"""All views, forms and addresses, by user."""
