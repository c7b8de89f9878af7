"""Django's SQLite, opened so that a deed never loses the race and a commit is never lost."""
