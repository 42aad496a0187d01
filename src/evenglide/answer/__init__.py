"""One whole table or study to one answer and its JSON; pure."""
