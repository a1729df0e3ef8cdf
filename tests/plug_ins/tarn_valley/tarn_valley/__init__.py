"""What the Tarn Valley Record Office adds to voicelog: an example of each kind of plug-in."""
