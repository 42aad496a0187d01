"""Invented launches, labelled invented: for the demo and for trying things out."""
