"""The recognisers we can drive: one file each, strangers to each other."""
