"""What must hold when the site is killed, the disk is full, or many sign at once: real processes, real HTTP."""
