"""What was recorded in the field: event bodies, their chain, and the state they add up to. No files."""
