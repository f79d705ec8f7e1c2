"""Sunup: from a list of cows and heifers to pregnancies by chosen sires."""

__version__ = "0.1.0"
