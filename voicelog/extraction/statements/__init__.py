"""From the marks on a note to statements."""
