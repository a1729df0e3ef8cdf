"""The recipe of our own English vosk model: from words and voices to the files vosk loads.

README.md beside this file says how it is run, what goes in and what came out.
"""
