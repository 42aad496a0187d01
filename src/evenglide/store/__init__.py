"""The only room that opens files and databases."""
