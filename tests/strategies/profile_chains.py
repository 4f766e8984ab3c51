"""Profile files that inherit from one another, as text by id."""

from collections.abc import Mapping

from closeout.expect.mistake import Mistakes
from closeout.expect.profile import Profile, parse_profile

HEAD = 'profile = 1\nid = "{0}"\nrevision = "{1}"\ntitle = "T"\n'
WIFI = '[[demand]]\nclass = "wifi"\npresent = true\nweight = "must"\n'
SERIAL = '[[demand]]\nclass = "system"\nattribute = "serial"\nfilled = true\nweight = "must"\n'

Files = Mapping[str, str]


def file(identity: str, *parts: str, inherits: str = "", base: bool = False) -> str:
    head = HEAD.format(identity, len(identity))
    if inherits:
        head += f'inherits = "{inherits}"\n'
    return head + ("base = true\n" if base else "") + "".join(parts)


def resolve(files: Files, wanted: str) -> Profile | Mistakes:
    def find(identity: str) -> tuple[str, bytes] | None:
        return (f"{identity}.toml", files[identity].encode()) if identity in files else None

    return parse_profile(f"{wanted}.toml", files[wanted].encode(), find)


def sound(files: Files, wanted: str) -> Profile:
    outcome = resolve(files, wanted)
    assert isinstance(outcome, Profile), outcome.show()
    return outcome


def told(files: Files, wanted: str) -> list[str]:
    outcome = resolve(files, wanted)
    assert isinstance(outcome, Mistakes)
    return outcome.show().split("\n")
