"""From a table that somebody already has to launches: cells with addresses, doubts, problems."""
