"""The hearing bench: what each engine hears, in which voice, room and noise."""
