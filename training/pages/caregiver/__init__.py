"""A caregiver's own page."""
