"""How a caregiver gets to their own page: a code on paper, used once, and the account it leads to."""
