"""From launches to observations."""
