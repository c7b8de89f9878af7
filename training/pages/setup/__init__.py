"""Setting up families, caregivers, care plans, authorisations, members; and the supervisor's decisions."""
