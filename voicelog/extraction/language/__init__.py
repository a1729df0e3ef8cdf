"""The words around the terms, as data: cues, commands, fillers, sound-alikes."""
