"""Charts of a forecast and of one female: pure specs, one place for screen and paper."""
