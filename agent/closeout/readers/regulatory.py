"""The radio rules in force: which country's, which bands, and where the unit may only listen.

Asked for as `nl80211 regulatory`; the rules are the system's, so there is one device wherever
`sys/class/ieee80211` shows a radio. The world's rules (00) forbid to send first on most of 5 and
6 GHz, so a scan hears fewer access points there (Documentation/networking/regulatory.rst).
"""

from __future__ import annotations

from typing import Final

from closeout.decode.failure import DecodeError
from closeout.decode.radio_rules import (
    WORLD,
    Domain,
    bands_of,
    decode_radio_rules,
    listen_only_bands_of,
)
from closeout.kernel.failure import ReadError
from closeout.kernel.tree import KernelTree
from closeout.model.device import Position
from closeout.model.inventory import Listing
from closeout.model.network import Regulatory
from closeout.model.reading import Absent, Reading, Unreadable, Value, convert
from closeout.readers.attributes import list_class, no_value
from closeout.readers.reader import Reader
from closeout.readers.wifi import CLASS

PLACE: Final = "radio-rules"
QUESTION: Final = "nl80211 regulatory"


def find_rules(tree: KernelTree) -> Listing:
    """One place where there is a radio, none elsewhere."""
    radios = list_class(tree, CLASS)
    if not (isinstance(radios, Value) and radios.value):
        return radios
    return Value(value=(PLACE,), sources=radios.sources)


def read_rules(tree: KernelTree, place: str) -> Regulatory:
    """The rules of the system, and which radios bring their own."""
    domains = ask_domains(tree)
    system = _system_of(domains)
    country = convert(system, lambda domain: domain.country)
    return Regulatory(
        place=place,
        label="radio rules",
        position=Position.INTERNAL,
        country=country,
        is_world=convert(country, lambda letters: letters == WORLD),
        bands=convert(system, lambda domain: bands_of(domain.rules)),
        listen_only_bands=convert(system, lambda domain: listen_only_bands_of(domain.rules)),
        own_rules=convert(
            domains,
            lambda told: tuple(
                f"phy{one.radio}: {one.country}" for one in told if one.radio is not None
            ),
        ),
    )


def ask_domains(tree: KernelTree) -> Reading[tuple[Domain, ...]]:
    """Every domain of the dump."""
    try:
        return Value(value=decode_radio_rules(tree.ask(QUESTION)), sources=(QUESTION,))
    except ReadError as failure:
        return no_value(failure)
    except DecodeError as failure:
        return Unreadable(error="MALFORMED", advice=str(failure), sources=(QUESTION,))


def _system_of(domains: Reading[tuple[Domain, ...]]) -> Reading[Domain]:
    if not isinstance(domains, Value):
        return domains
    for domain in domains.value:
        if domain.radio is None:
            return Value(value=domain, sources=domains.sources)
    return Absent(reason="the kernel tells no rules of the system", sources=domains.sources)


READERS: Final = (Reader(kind="regulatory", find=find_rules, read=read_rules),)
