"""Deceleration laws, launcher, slope: forward physics in SI."""
