"""One module a step; a step that was shipped is never edited."""
