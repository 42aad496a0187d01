"""Units of measurement, as far as pages need to know them."""
