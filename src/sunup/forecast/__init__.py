"""The simulator under a plan: replay published trials, score the replay."""
