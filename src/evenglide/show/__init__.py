"""How numbers and tables are shown: rounding, units, counts, plain and marked-up tables."""
