"""Results to tables and documents."""
