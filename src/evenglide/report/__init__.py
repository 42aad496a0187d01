"""Results told to people: sentences, charts, and the one-file report."""
