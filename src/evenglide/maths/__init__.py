"""Arrays in, arrays out: nothing here knows what a treatment is."""
