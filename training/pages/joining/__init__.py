"""The public pages where a caregiver types the code from their paper and gets an account."""
