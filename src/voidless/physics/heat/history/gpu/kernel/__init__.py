"""What a graphics processor does in its own way: teams of threads, and the solve of a column by all of a team."""
