"""Observations to contrasts, claims, audit, robustness."""
