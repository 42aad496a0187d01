"""A small server for the laptop of a day outside: parse, call the desk, show."""
