"""What a person decides about a log: acts of review, without any page or command."""
