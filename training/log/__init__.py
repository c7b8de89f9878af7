"""The log of deeds, reads and sign-ins: words, not keys; added to, never changed."""
