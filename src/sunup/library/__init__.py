"""The library: checks and types the data files. Text comes in from ``app``; nothing is read here."""
