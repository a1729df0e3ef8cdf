"""How people name places in a volume."""
