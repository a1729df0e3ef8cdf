"""How well and how fast we hear: scripts that print figures and assert nothing."""
