"""The second fence: on PostgreSQL the database itself shows each request its own organisation's rows and no others."""
