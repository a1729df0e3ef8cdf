"""Sound in, timed words out.

A recording is decoded (:mod:`~voicelog.recognition.audio`), cut into notes where the
speaker paused (:mod:`~voicelog.recognition.segments`), and each note is given to a
recogniser (:mod:`~voicelog.recognition.recogniser` says what one is;
:mod:`~voicelog.recognition.engines` holds them).
"""
