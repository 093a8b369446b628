"""One module per page: what it shows, and what it takes."""
