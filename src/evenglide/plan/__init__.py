"""Layouts and orders: which launches to make, in which order, drawn fairly."""
