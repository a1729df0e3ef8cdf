"""Finding aids: EAD3 and EAD 2002, two spellings of one description."""
