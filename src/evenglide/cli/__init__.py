"""The command line: parse, call one step, show."""
