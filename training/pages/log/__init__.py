"""The organisation's log: who did what, and who looked at which family when."""
