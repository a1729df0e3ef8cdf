"""``python -m voicelog`` is the same as ``voicelog``."""

from voicelog.cli import main

if __name__ == "__main__":
    main()
