"""What people see of a plan: the map file."""
