"""How fast the site is, on an organisation of invented families in an empty database."""
