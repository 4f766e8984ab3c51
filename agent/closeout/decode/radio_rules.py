"""The radio rules that the kernel answers with (NL80211_CMD_GET_REG, include/uapi/linux/nl80211.h).

A dump has one message for the rules of the system and one for each radio that brings its own.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Final

from closeout.decode.failure import DecodeError
from closeout.decode.netlink import (
    DONE,
    ERROR,
    by_kind,
    decode_attributes,
    decode_generic,
    decode_messages,
)
from closeout.model.frozen import frozen

RADIO: Final = 1
COUNTRY: Final = 33
RULES: Final = 34
"""NL80211_ATTR_WIPHY, NL80211_ATTR_REG_ALPHA2, NL80211_ATTR_REG_RULES."""
FLAGS: Final = 1
START: Final = 2
END: Final = 3
"""NL80211_ATTR_REG_RULE_FLAGS, NL80211_ATTR_FREQ_RANGE_START and _END, in kHz."""
NO_INITIATING: Final = 1 << 7
"""NL80211_RRF_NO_IR: nothing that initiates radiation, so only passive scans."""
WORLD: Final = "00"
BANDS: Final = (
    ("2.4 GHz", 2_400_000, 2_500_000),
    ("5 GHz", 5_150_000, 5_895_000),
    ("6 GHz", 5_925_000, 7_125_000),
)
"""Bands of Wi-Fi in kHz (IEEE 802.11-2020, annex E; 6 GHz: IEEE 802.11ax), from memory."""
WHAT: Final = "radio rules"


@frozen
class Rule:
    """One range of frequencies, and whether the unit must wait to be spoken to in it."""

    start_khz: int
    end_khz: int
    listen_only: bool


@frozen
class Domain:
    """Rules in force: those of the system, or of the radio with this number."""

    country: str
    rules: tuple[Rule, ...]
    radio: int | None = None


def decode_radio_rules(raw: bytes) -> tuple[Domain, ...]:
    """The domains of a whole dump; raises DecodeError."""
    return tuple(
        _domain(message.body)
        for message in decode_messages(raw)
        if message.kind not in {ERROR, DONE}
    )


def bands_of(rules: Iterable[Rule]) -> tuple[str, ...]:
    """The bands that one of the rules reaches into, lowest first."""
    told = tuple(rules)
    return tuple(name for name, _, _ in BANDS if any(_is_in(rule, name) for rule in told))


def listen_only_bands_of(rules: Iterable[Rule]) -> tuple[str, ...]:
    """The bands whose every rule forbids to send first."""
    told = tuple(rules)
    sending = bands_of(rule for rule in told if not rule.listen_only)
    return tuple(name for name in bands_of(told) if name not in sending)


def _is_in(rule: Rule, band: str) -> bool:
    return any(
        rule.start_khz < high and rule.end_khz > low for name, low, high in BANDS if name == band
    )


def _domain(body: bytes) -> Domain:
    attributes = decode_generic(body)
    country = attributes.get(COUNTRY, b"").rstrip(b"\0")
    if len(country) != len(WORLD) or not country.isalnum():
        raise DecodeError(WHAT, 0, f"the country is {country!r}, not two letters")
    radio = attributes.get(RADIO)
    return Domain(
        country=country.decode("ascii"),
        rules=tuple(_rules(attributes.get(RULES, b""))),
        radio=None if radio is None else _number(radio),
    )


def _rules(raw: bytes) -> Iterator[Rule]:
    for nested in decode_attributes(raw):
        told = by_kind(decode_attributes(nested.value))
        if not {START, END} <= told.keys():
            raise DecodeError(WHAT, 0, "a rule has no range of frequencies")
        yield Rule(
            start_khz=_number(told[START]),
            end_khz=_number(told[END]),
            listen_only=bool(_number(told.get(FLAGS, bytes(4))) & NO_INITIATING),
        )


def _number(value: bytes) -> int:
    if len(value) != 4:
        raise DecodeError(WHAT, 0, f"a number of {len(value)} bytes; 4 are wanted")
    return int.from_bytes(value, "little")
