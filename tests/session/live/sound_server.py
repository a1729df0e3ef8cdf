"""A real sound server with a microphone that can be spoken into and pulled out.

PulseAudio as Debian packages it, with a sink that leads nowhere; what is played into it is
what the microphone (its monitor) gives. ALSA, and so PortAudio, is led to it.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import time
from pathlib import Path

NEEDED = ("pulseaudio", "pactl", "paplay")
SINK = "bench"
_LONGEST_WAIT_S = 15.0


class SoundServer:
    """One server of our own; no other on this machine is touched."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._process: subprocess.Popen[bytes] | None = None
        self._playing: list[subprocess.Popen[bytes]] = []
        socket = folder / "native"
        (folder / "asound.conf").write_text(
            "</usr/share/alsa/alsa.conf>\n"
            "pcm.!default { type pulse }\n"
            "ctl.!default { type pulse }\n"
        )
        self.surroundings = {
            "XDG_RUNTIME_DIR": str(folder),
            "PULSE_SERVER": f"unix:{socket}",
            "PULSE_SOURCE": f"{SINK}.monitor",
            "PULSE_COOKIE": str(folder / "cookie"),
            "ALSA_CONFIG_PATH": str(folder / "asound.conf"),
        }
        self._arguments = (
            "pulseaudio",
            "-n",
            "--daemonize=no",
            "--exit-idle-time=-1",
            "--use-pid-file=no",
            f"--load=module-native-protocol-unix auth-anonymous=1 socket={socket}",
        )

    @staticmethod
    def missing() -> list[str]:
        """Return the programs that this machine lacks."""
        return [program for program in NEEDED if shutil.which(program) is None]

    def start(self) -> None:
        with (self._folder / "server.txt").open("wb") as messages:
            self._process = subprocess.Popen(
                self._arguments, env=self._environment(), stdout=messages, stderr=messages
            )
        self._wait_until_it_answers()
        self.plug_in()

    def stop(self) -> None:
        """End the server at once, as a crash would."""
        for playing in self._playing:
            playing.kill()
            playing.wait()
        self._playing = []
        if self._process is not None:
            self._process.kill()
            self._process.wait()
            self._process = None

    def plug_in(self) -> None:
        self._control("load-module", "module-null-sink", f"sink_name={SINK}", "rate=48000")

    def unplug(self) -> None:
        self._control("unload-module", "module-null-sink")

    def play(self, path: Path) -> None:
        """Begin to speak a recording into the microphone."""
        self._playing.append(
            subprocess.Popen(
                ("paplay", f"--device={SINK}", path),
                env=self._environment(),
                stderr=subprocess.DEVNULL,
            )
        )

    def _control(self, *arguments: str) -> str:
        done = subprocess.run(
            ("pactl", *arguments),
            env=self._environment(),
            capture_output=True,
            check=True,
            text=True,
            timeout=_LONGEST_WAIT_S,
        )
        return done.stdout

    def _wait_until_it_answers(self) -> None:
        give_up_at = time.monotonic() + _LONGEST_WAIT_S
        while True:
            try:
                self._control("info")
            except subprocess.CalledProcessError:
                if time.monotonic() > give_up_at:
                    raise
                time.sleep(0.1)
            else:
                return

    def _environment(self) -> dict[str, str]:
        return {**os.environ, **self.surroundings}
