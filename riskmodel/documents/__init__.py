"""What people and machines are given: one frozen summary per document, and its renderings."""
