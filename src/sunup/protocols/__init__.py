"""Protocols as data: steps, hours, windows, who; and the rules a protocol must obey."""
