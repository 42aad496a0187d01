"""One file per verb: load, one call, save. No rule lives here."""
