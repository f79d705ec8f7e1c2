"""What a plan will do to a given herd: a distribution, never a bare percentage."""
