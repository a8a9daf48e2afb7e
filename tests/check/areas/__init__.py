"""The areas that are checked; each module's `rows(core, thorough)` gives its rows."""
