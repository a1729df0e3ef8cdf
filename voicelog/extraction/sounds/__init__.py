"""How words sound, and putting right what was misheard."""
