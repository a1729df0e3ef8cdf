"""Two ears on one note: what each recogniser heard is aligned, and the likelier words are taken.

One ear writes down anything (whisper), the other knows a closed list of words and their sounds
(vosk). What they heard is cut into pieces that can be compared
(:mod:`~voicelog.hearing.pieces`), laid beside each other in time
(:mod:`~voicelog.hearing.alignment`), and where they differ the likelier reading is chosen
(:mod:`~voicelog.hearing.joining`). :mod:`~voicelog.hearing.joined` makes one recogniser of
the two.
"""
