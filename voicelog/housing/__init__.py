"""Housing: what a volume and its loose items need, and the paper that goes into the box."""
