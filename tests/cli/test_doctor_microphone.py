"""`doctor --microphone` without any sound; with real sound: tests/session/live."""

from __future__ import annotations

import numpy as np
import pytest

from tests.cli.conftest import Voicelog
from voicelog.cli import microphone_trial
from voicelog.cli.microphone_trial import format_level
from voicelog.errors import MicrophoneMissing
from voicelog.session.live.microphone import Input


def test_an_input_without_a_trial_is_a_misunderstanding(voicelog: Voicelog) -> None:
    result = voicelog("doctor", "--input", "headset")
    assert result.status == 2
    assert "write --microphone NAME instead" in result.err


def test_a_machine_without_a_microphone_is_one_sentence(
    voicelog: Voicelog, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(microphone_trial, "list_inputs", lambda: ())
    result = voicelog("doctor", "--microphone")
    assert (result.status, result.out) == (1, "")
    assert result.err == "voicelog: No microphone is connected; plug one in, then try again.\n"


@pytest.mark.parametrize(
    ("said", "setting"),
    [
        (("--microphone",), "lapel"),
        (("--microphone", "lapel"), "headset"),
        # As it was spelt before.
        (("--microphone", "--input", "lapel"), "headset"),
    ],
)
def test_the_command_line_says_which_is_tried_and_else_the_setting(
    voicelog: Voicelog, monkeypatch: pytest.MonkeyPatch, said: tuple[str, ...], setting: str
) -> None:
    headset = Input(
        number=3, name="USB Headset", channels=1, sample_rate_hz=48_000, is_default=False
    )
    monkeypatch.setattr(microphone_trial, "list_inputs", lambda: (headset,))
    monkeypatch.setenv("VOICELOG_MICROPHONE", setting)
    result = voicelog("doctor", *said)
    assert result.status == 1
    assert "No microphone goes by 'lapel'; plug it in, or name one of these: 3 USB" in result.err


def test_an_input_name_cannot_steer_the_terminal(
    voicelog: Voicelog, monkeypatch: pytest.MonkeyPatch
) -> None:
    nasty = Input(
        number=0, name="\x1b[2Jheadset", channels=1, sample_rate_hz=48_000, is_default=True
    )

    def fail(_wanted: str) -> None:
        raise MicrophoneMissing("It is gone; plug it in again.")

    monkeypatch.setattr(microphone_trial, "list_inputs", lambda: (nasty,))
    monkeypatch.setattr(microphone_trial, "_listen", fail)
    result = voicelog("doctor", "--microphone")
    assert "\x1b" not in result.out
    assert "headset (1 channel, 48000 Hz, the system's choice)" in result.out


@pytest.mark.parametrize(
    ("peak", "meter"),
    [(0, f"[{' ' * 30}] -90 dB"), (32_767, f"[{'#' * 30}] 0 dB"), (-32_768, f"[{'#' * 30}] 0 dB")],
)
def test_the_meter_reaches_from_nothing_to_full_scale(peak: int, meter: str) -> None:
    assert format_level(np.array([peak], dtype=np.int16)) == meter
