"""The areas that are checked; each module's `rows(core, trials)` gives its rows."""
