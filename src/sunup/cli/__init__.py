"""The command line: reads what was typed, asks ``app``, prints. It computes nothing."""
