"""Files in and out: what others hand us, and what others read from us."""
