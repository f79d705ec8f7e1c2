"""Use-cases, one function each: load, call pure things, save, return a result."""
