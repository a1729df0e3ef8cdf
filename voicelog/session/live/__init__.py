"""The live hour: sound from a microphone to rows, saved before it is understood."""
