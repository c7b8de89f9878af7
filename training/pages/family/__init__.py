"""A family's pages: standings and reasons, records, the packet; and the programme's checklists."""
