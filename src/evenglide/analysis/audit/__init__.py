"""What this cannot say: how the data came about, read from the launches themselves."""
