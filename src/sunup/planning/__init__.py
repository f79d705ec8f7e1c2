"""Readiness, fit, schedule, capacity, clashes, supplies, cost, run-up: pure functions."""
